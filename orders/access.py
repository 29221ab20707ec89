"""The only way to fetch a row for somebody: what is not theirs does not exist for them."""

from typing import Any, TypeVar

from django.contrib.auth.models import AnonymousUser, User
from django.db.models import Model, QuerySet
from django.http import Http404

from orders.models import Approval, Customer, Document, Enquiry, Invoice, Order, PaymentRequest, Propeller
from orders.refusal import Refused
from orders.who import BENCH, BOOKKEEPER, OWNER, somebody
from quoting.models import Quote

M = TypeVar("M", bound=Model)
Anybody = User | AnonymousUser
MAY_SEE_ALL: dict[type[Model], frozenset[str]] = {
    Enquiry: frozenset({OWNER}),
    Quote: frozenset({OWNER}),
    Order: frozenset({OWNER, BENCH, BOOKKEEPER}),
    Propeller: frozenset({OWNER, BENCH}),
    Approval: frozenset({OWNER, BENCH}),
    PaymentRequest: frozenset({OWNER, BOOKKEEPER}),
    Invoice: frozenset({OWNER, BOOKKEEPER}),
    Document: frozenset({OWNER, BOOKKEEPER}),
}
"""Which roles see every row of a kind."""
OWN: dict[type[Model], tuple[str, ...]] = {
    Enquiry: ("customer",),
    Order: ("customer",),
    Propeller: ("order__customer",),
    Approval: ("order__customer",),
    PaymentRequest: ("order__customer",),
    Invoice: ("order__customer",),
    Quote: ("series__enquiry__customer",),
    Document: ("order__customer", "quote__series__enquiry__customer"),
}
"""By which way a row belongs to a customer."""
NOT_FOR_CUSTOMERS: dict[type[Model], dict[str, Any]] = {
    Quote: {"state": Quote.State.DRAFTED},
    Document: {"kind__in": Document.WORKSHOP_ONLY},
}


def customer_of(user: Anybody) -> Customer | None:
    """The customer a signed-in user is, if any."""
    return Customer.objects.filter(user=user).first() if user.is_authenticated else None


def rows_for(user: Anybody, model: type[M]) -> QuerySet[M]:
    """The rows of a kind that exist for somebody: all for the roles that may see them, else a customer's own."""
    rows = model._default_manager.all()
    if not user.is_authenticated:
        return rows.none()
    if somebody(user).roles & MAY_SEE_ALL[model]:
        return rows
    customer = customer_of(user)
    if customer is None:
        return rows.none()
    own = rows.none()
    for way in OWN[model]:
        own = own | rows.filter(**{way: customer})
    hidden = NOT_FOR_CUSTOMERS.get(model)
    return own.exclude(**hidden) if hidden else own


def row_for(user: Anybody, model: type[M], **which: Any) -> M:
    """One row for somebody; Http404 whether it is not there or not theirs."""
    try:
        return rows_for(user, model).get(**which)
    except model.DoesNotExist as missing:  # type: ignore[attr-defined]
        raise Http404 from missing


def by_token(model: type[M], token: str) -> M:
    """The enquiry, quote or order behind a secret link; a quote not sent yet is not there."""
    rows = model._default_manager.filter(token=token)
    if model is Quote:
        rows = rows.exclude(state=Quote.State.DRAFTED)
    row = rows.first()
    if row is None:
        raise Http404
    return row


def needs_role(user: Anybody, *roles: str) -> None:
    """Raise Refused (404 for strangers, 403 for staff of another role) unless the user has one of the roles."""
    if not user.is_authenticated:
        raise Http404
    held = somebody(user).roles
    if not held:
        raise Http404
    if not held & set(roles):
        raise Refused("not-allowed", f"Only {' or '.join(roles)} may do this.", status=403)
