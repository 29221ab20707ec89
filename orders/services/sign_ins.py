"""Who of the workshop may sign in and as what: let in, given other roles, ended. Customers are let in by sign_in.py."""

from datetime import datetime

from django.contrib.auth.models import Group, User
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from orders.refusal import Refused
from orders.services import audit
from orders.services.opening import add_sign_in
from orders.who import BENCH, BOOKKEEPER, OWNER, Who

ROLES = (OWNER, BENCH, BOOKKEEPER)


def members() -> QuerySet[User]:
    """Everybody with a role, those who may sign in first."""
    rows = User.objects.filter(groups__name__in=ROLES).distinct()
    return rows.prefetch_related("groups").order_by("-is_active", "first_name", "last_name")


@transaction.atomic
def let_in(who: Who, *, name: str, email: str, roles: list[str], now: datetime) -> User:
    """Somebody who may sign in by a code mailed to their address. Raises Refused at the field that cannot be."""
    who.must_be(OWNER)
    name, email = " ".join(name.split()), email.strip().lower()
    if not name:
        raise Refused("name", _("Write their name."), status=400, field="name")
    try:
        validate_email(email)
    except ValidationError as fault:
        raise Refused("email", fault.messages[0], status=400, field="email") from fault
    if User.objects.filter(email__iexact=email).exists():
        said = _("This address signs in already; give another one.")
        raise Refused("email-taken", said, status=400, field="email")
    _check(roles)
    made = add_sign_in(name, email, roles, None)
    audit.record(who, "let in", f"sign-in {email}", now=now, detail={"roles": sorted(roles)})
    return made


@transaction.atomic
def give_roles(who: Who, user: User, roles: list[str], *, now: datetime) -> None:
    """Other roles. Raises Refused where no owner would be left."""
    who.must_be(OWNER)
    _check(roles)
    if OWNER not in roles:
        _leave_an_owner(user)
    before = sorted(user.groups.values_list("name", flat=True))
    user.groups.set(Group.objects.filter(name__in=roles))
    User.objects.filter(pk=user.pk).update(is_staff=OWNER in roles)
    audit.record(
        who, "give roles", f"sign-in {user.email}", now=now, detail={"roles": [before, sorted(roles)]}
    )


@transaction.atomic
def end(who: Who, user: User, *, now: datetime) -> None:
    """Somebody signs in no more, and is signed out; what they recorded keeps their name."""
    who.must_be(OWNER)
    _leave_an_owner(user)
    if User.objects.filter(pk=user.pk, is_active=True).update(is_active=False) != 1:
        raise Refused("ended", _("They cannot sign in as it is."))
    audit.record(who, "end", f"sign-in {user.email}", now=now)


@transaction.atomic
def take_up(who: Who, user: User, *, now: datetime) -> None:
    """Somebody may sign in again, with the roles they had."""
    who.must_be(OWNER)
    if User.objects.filter(pk=user.pk, is_active=False).update(is_active=True) != 1:
        raise Refused("open", _("They may sign in as it is."))
    audit.record(who, "take up", f"sign-in {user.email}", now=now)


def _check(roles: list[str]) -> None:
    if not roles or set(roles) - set(ROLES):
        raise Refused("roles", _("Choose at least one role."), status=400, field="roles")


def _leave_an_owner(user: User) -> None:
    """Raise Refused unless somebody else is an owner who may sign in; the owners are locked until the change is made."""
    owners = User.objects.select_for_update().filter(groups__name=OWNER, is_active=True)
    if all(owner.pk == user.pk for owner in owners):
        raise Refused(
            "last-owner",
            _("Somebody must stay the owner: let another one in first."),
            status=400,
            field="roles",
        )
