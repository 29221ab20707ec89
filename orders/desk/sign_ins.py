"""Sign-ins at the desk: who of the workshop may sign in, and as what."""

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from orders.desk.doing import do, submitted
from orders.desk.roles import open_to
from orders.services import sign_ins
from orders.who import BENCH, BOOKKEEPER, OWNER, somebody

ROLE_WORDS = {
    OWNER: gettext_lazy("owner: everything"),
    BENCH: gettext_lazy("bench: the work, the plan, the register"),
    BOOKKEEPER: gettext_lazy("bookkeeper: books, orders, taxes"),
}


class RolesForm(forms.Form):
    """What somebody may open."""

    roles = forms.MultipleChoiceField(
        label=gettext_lazy("May open"),
        choices=list(ROLE_WORDS.items()),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": gettext_lazy("Choose at least one role.")},
    )


class SignInForm(RolesForm):
    """Somebody who may sign in."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    email = forms.EmailField(
        label=gettext_lazy("E-mail"),
        max_length=150,
        help_text=gettext_lazy("A code is mailed here each time they sign in; no password is needed."),
    )
    field_order = ("name", "email", "roles")


@open_to()
def everybody(request: HttpRequest) -> HttpResponse:
    """Everybody of the workshop who may sign in, or might."""
    return page(request)


def page(
    request: HttpRequest, *, new: SignInForm | None = None, roles: RolesForm | None = None, pk: int = 0
) -> HttpResponse:
    """Every sign-in with its form; a form given back stands at the one of `pk`, or at the new one."""
    rows = []
    for user in sign_ins.members():
        held = [group.name for group in user.groups.all()]
        own = RolesForm(initial={"roles": held}, auto_id=f"roles-{user.pk}-%s")
        words = [str(ROLE_WORDS[role]).partition(":")[0] for role in sign_ins.ROLES if role in held]
        rows.append((user, words, roles if roles is not None and pk == user.pk else own))
    context: dict[str, Any] = {
        "rows": rows,
        "new": new or SignInForm(auto_id="new-%s"),
        "now": timezone.now(),
    }
    wrong = bool((new and new.errors) or (roles and roles.errors))
    return render(request, "desk/sign_ins.html", context, status=422 if wrong else 200)


@require_POST
@open_to()
def add(request: HttpRequest) -> HttpResponse:
    """Let somebody in."""
    return submitted(
        request,
        SignInForm(request.POST, auto_id="new-%s"),
        lambda given: sign_ins.let_in(somebody(request.user), **given, now=timezone.now()),
        _("They may sign in now, by a code mailed to that address."),
        lambda wrong: page(request, new=wrong),
        "desk:sign-ins",
    )


@require_POST
@open_to()
def give_roles(request: HttpRequest, pk: int) -> HttpResponse:
    """Give somebody other roles."""
    user = get_object_or_404(sign_ins.members(), pk=pk)
    return submitted(
        request,
        RolesForm(request.POST, auto_id=f"roles-{pk}-%s"),
        lambda given: sign_ins.give_roles(somebody(request.user), user, given["roles"], now=timezone.now()),
        _("Kept."),
        lambda wrong: page(request, roles=wrong, pk=pk),
        "desk:sign-ins",
    )


@require_POST
@open_to()
def end(request: HttpRequest, pk: int) -> HttpResponse:
    """End somebody's sign-in, or take it up again."""
    user = get_object_or_404(sign_ins.members(), pk=pk)
    act = sign_ins.end if user.is_active else sign_ins.take_up
    said = _("They sign in no more.") if user.is_active else _("They may sign in again.")
    return do(request, lambda: act(somebody(request.user), user, now=timezone.now()), said, "desk:sign-ins")
