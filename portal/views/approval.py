"""Drawing and mock-up: look, approve, or want changes with numbered remarks."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from orders import access
from orders.models import Approval, Confirmation, Document, Order
from orders.pictures import engineering_of_quote, plan_of, state_of_drawing
from orders.refusal import Refused
from orders.services import approval as approvals
from orders.services import assumptions, drawings
from portal.approval_pictures import pictures_of
from portal.facts import facts_of
from portal.forms.words import ApprovalForm
from portal.views.order import PICTURE_SHAPES, paper_label, picture_word
from portal.views.units import units_of
from portal.views.who import holder
from quoting.propeller.specification import Specification
from quoting.services.quotes import specification_of
from quoting.services.serial import structured


def asked(token: str, kind: str, revision: int) -> Approval:
    """One revision of a picture of the order behind a link."""
    order = access.by_token(Order, token)
    found = order.approvals.filter(kind=kind, revision=revision).first()
    if found is None:
        raise Http404
    return found


def decide(request: HttpRequest, token: str, kind: str, revision: int) -> HttpResponse:
    """Show a picture; take the word on it."""
    approval = asked(token, kind, revision)
    if request.method != "POST":
        return page(request, approval, ApprovalForm(initial={"shown_hash": approval.shown_hash}))
    form = ApprovalForm(request.POST)
    if not form.is_valid():
        return page(request, approval, form, status=422)
    who = holder(request, form.cleaned_data.get("name") or approval.order.accepted_name)
    seen = form.cleaned_data["shown_hash"]
    try:
        if form.wants_changes:
            approvals.want_changes(who, approval, form.remarks, seen=seen, now=timezone.now())
            messages.success(request, _("Your remarks are with the workshop. We draw anew and ask again."))
        else:
            approvals.approve(who, approval, seen=seen, now=timezone.now())
            messages.success(request, _("Approved. Thank you."))
    except Refused as refused:
        approval.refresh_from_db()
        form.add_error(None, refused.message)
        return page(request, approval, form, status=refused.status)
    return redirect("portal:order", token=token)


def page(request: HttpRequest, approval: Approval, form: ApprovalForm, *, status: int = 200) -> HttpResponse:
    """The page of one revision."""
    specification = structured(approval.shown["specification"], Specification)
    unit = units_of(request)
    words = drawing_words() if approval.kind == Approval.Kind.DRAWING else mock_up_words()
    context: dict[str, Any] = {
        "approval": approval,
        "order": approval.order,
        "order_url": reverse("portal:order", args=[approval.order.token]),
        "open": approval.state == Approval.State.ASKED,
        "form": form,
        "remark_fields": [form[f"remark_{n}"] for n in range(1, ApprovalForm.REMARKS + 1)],
        "pictures": pictures_of(approval.kind, specification, unit),
        "questions": [] if approval.kind == Approval.Kind.MOCK_UP else open_questions(approval.order),
        "questions_url": reverse("portal:questions", args=[approval.order.token]),
        "facts": facts_of(specification, unit, assumptions.unconfirmed(approval.order)),
        **(solid_of(approval) if approval.kind == Approval.Kind.MOCK_UP else drawing_of(approval, unit)),
        "shape": PICTURE_SHAPES[Approval.State(approval.state)],
        "state_word": picture_word(approval),
    }
    return render(request, "portal/approval.html", context | words, status=status)


def open_questions(order: Order) -> list[Confirmation]:
    """What the drawing rests on without a word of the customer's, or against it."""
    return list(order.confirmations.exclude(state=Confirmation.State.CONFIRMED))


def solid_of(approval: Approval) -> dict[str, Any]:
    """The picture of the solid with its laminations, or whether it is being made."""
    found = drawings.standing(approval.order.quote)
    picture = next(iter(found.of(Document.Kind.MOCK_UP)), None)
    return {"solid": picture, "solid_asked_at": None if picture else found.asked_at}


def drawing_of(approval: Approval, unit: str) -> dict[str, Any]:
    """The whole drawing, and its PDF where it is made."""
    quote = approval.order.quote
    plan = plan_of(specification_of(quote), unit, name="drawn")
    return {
        "engineering": engineering_of_quote(quote, unit, state=state_of_drawing(approval.order)),
        "drawing_compact": plan.compact,
        "prints": [
            {"label": paper_label(paper), "pk": paper.pk}
            for paper in drawings.standing(quote).of(Document.Kind.DRAWING)
        ],
    }


def drawing_words() -> dict[str, str]:
    return {
        "heading": _("The drawing"),
        "lead": _(
            "This is what will be carved. Check hand, size, bolt pattern and boss against your aeroplane."
        ),
        "approve_means": _(
            "We cut wood to this drawing. The order joins the queue when the deposit is in too."
        ),
        "approve_words": _("Approve the drawing"),
    }


def mock_up_words() -> dict[str, str]:
    return {
        "heading": _("The mock-up"),
        "lead": _(
            "Timber, finish and decal as they will look. Screens differ from varnish; take colours as near."
        ),
        "approve_means": _(
            "We varnish and lay the decal as shown. The build goes on meanwhile up to varnish."
        ),
        "approve_words": _("Approve the mock-up"),
    }
