"""One order: first what is wanted from the customer, then where it stands, then everything else."""

from pathlib import Path
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from orders import access
from orders.models import Approval, Document, Order, PaymentRequest, StageRecord
from orders.pictures import engineering_of_quote, plan_of, state_of_drawing
from orders.services import assumptions, documents, drawings
from orders.services.charges import storage_of
from orders.services.documents import papers_for_customer
from orders.services.forecast_moves import CUSTOMER, told_of
from orders.services.messages import talk_about, write_to_workshop
from portal.facts import facts_of
from portal.following import RELEASED, calendar_address, late_of, photographs_of, stages_of
from portal.forms.countries import COUNTRIES
from portal.forms.words import MessageForm
from portal.limits import held_back, or_refuse
from portal.views.units import units_of
from portal.views.who import holder
from portal.wanted import card_under_way, revision_out, wanted_from
from quoting.services.quotes import specification_of

S = Order.State
ORDER_SHAPES = {
    S.WAITING: "waiting",
    S.QUEUED: "waiting",
    S.ON_THE_BENCH: "in work",
    S.HELD: "held",
    S.READY: "in work",
    S.DISPATCHED: "done",
    S.CANCELLED: "off",
}
PICTURE_SHAPES = {
    Approval.State.ASKED: "wanted",
    Approval.State.APPROVED: "done",
    Approval.State.CHANGES_WANTED: "in work",
}


def state_word(order: Order) -> str:
    """The state as read."""
    return {
        S.WAITING: _("Waiting"),
        S.QUEUED: _("In the queue"),
        S.ON_THE_BENCH: _("On the bench"),
        S.HELD: _("Held"),
        S.READY: _("Ready"),
        S.DISPATCHED: _("Dispatched"),
        S.CANCELLED: _("Cancelled"),
    }[Order.State(order.state)]


def standing(order: Order) -> tuple[str, str]:
    """The state as read, and a sentence about it."""
    if order.state == S.WAITING:
        return state_word(order), waiting_sentence(order)
    if order.state == S.READY:
        return state_word(order), ready_sentence(order)
    return state_word(order), {
        S.QUEUED: _("Work on it begins in its turn."),
        S.ON_THE_BENCH: _("It is being built; the stages below follow the work."),
        S.HELD: _("Work on it rests: %(reason)s") % {"reason": order.held_reason},
        S.DISPATCHED: _("It is on its way, or with you. Its papers are below."),
        S.CANCELLED: _("This order has ended."),
    }[Order.State(order.state)]


def waiting_sentence(order: Order) -> str:
    if revision_out(order):
        return _("A revised quote with your answers is out; accept it and the order goes on.")
    if assumptions.is_answered_otherwise(order):
        return _("The workshop works the quote again with your answer; the order waits for the revision.")
    if assumptions.keeps_waiting(order):
        return _(
            "It joins the queue when the deposit is in, the open questions are answered and the drawing is approved."
        )
    return _("It joins the queue when the deposit is in and the drawing approved.")


def ready_sentence(order: Order) -> str:
    balance = order.payment_requests.filter(kind=PaymentRequest.Kind.BALANCE).first()
    if balance is None:
        return _("Inspected and released. The invoice with the balance comes next.")
    if balance.is_settled:
        return _("Inspected, released and paid. It is packed and sent next.")
    return _("Inspected and released. It is sent when the balance is in.")


def picture_word(approval: Approval) -> str:
    return {
        Approval.State.ASKED: _("waits for your word"),
        Approval.State.APPROVED: _("approved"),
        Approval.State.CHANGES_WANTED: _("being drawn anew"),
    }[Approval.State(approval.state)]


def paper_word(kind: str) -> str:
    return {
        Document.Kind.QUOTE: _("Quote, as accepted"),
        Document.Kind.INVOICE: _("Invoice"),
        Document.Kind.BUILD_RECORD: _("Build record"),
        Document.Kind.CARE_SHEET: _("Care sheet"),
        Document.Kind.BUILD_CARD: _("Build card"),
        Document.Kind.PACKING_LIST: _("Packing list"),
        Document.Kind.DRAWING: _("Drawing"),
        Document.Kind.MOCK_UP: _("Mock-up of the solid"),
        Document.Kind.DRILL_TEMPLATE: _("Drill template"),
        Document.Kind.DRILL_DXF: _("Drill pattern"),
        Document.Kind.STATION_TEMPLATE: _("Station templates"),
        Document.Kind.STATION_DXF: _("Stations"),
        Document.Kind.SOLID: _("Solid with its laminations"),
    }[Document.Kind(kind)]


def paper_label(document: Document) -> str:
    """The paper's word, for a drawing with the unit it is drawn in."""
    word = paper_word(document.kind)
    if document.kind != Document.Kind.DRAWING:
        return word
    unit = _("millimetres") if document.subject.endswith(" mm") else _("inches")
    return f"{word}, {unit}"


@require_safe
def show(request: HttpRequest, token: str) -> HttpResponse:
    """The order behind a secret link."""
    return page(request, access.by_token(Order, token))


@login_required
@require_safe
def own(request: HttpRequest, number: str) -> HttpResponse:
    """One's own order by its number; another's is not there."""
    return page(request, access.own_row(request.user, Order, number=number))


def page(request: HttpRequest, order: Order, *, status: int = 200, **forms: Any) -> HttpResponse:
    """The page of one order, with a fresh message form or the one given back with its errors."""
    unit = units_of(request)
    specification = specification_of(order.quote)
    drawing = plan_of(specification, unit)
    state_word, sentence = standing(order)
    context = {
        "order": order,
        "title": order.title,
        "wanted": wanted_from(order),
        "shape": ORDER_SHAPES[S(order.state)],
        "state_word": state_word,
        "state_sentence": sentence,
        "told": told_of(order, CUSTOMER),
        "late": late_of(order),
        "calendar_address": calendar_address(order) if order.is_open else "",
        "propellers": stages_of(order, unit),
        "drawing": drawing.wide,
        "drawing_compact": drawing.compact,
        "engineering": engineering_of_quote(order.quote, unit, state=state_of_drawing(order)),
        "drawn": drawings.standing(order.quote),
        "facts": facts_of(specification, unit, assumptions.unconfirmed(order)),
        "payments": payments_of(order),
        "charges": order.charges.all(),
        "storage": storage_of(order, timezone.localdate()),
        "papers": papers_of(order),
        "outstanding": (outstanding := outstanding_of(order)),
        "may_ask_for_papers": any(paper["asked_at"] is None for paper in outstanding),
        "pictures": pictures_of(order),
        "address": address_lines(order.address),
        "talk": talk_about(order),
        "message_form": MessageForm(),
        "message_url": reverse("portal:order_message", args=[order.token]),
        "now": timezone.now(),
    }
    return render(request, "portal/order.html", context | forms, status=status)


def payment_word(kind: str) -> str:
    """What is asked for, by the kind of the request."""
    kinds = PaymentRequest.Kind
    return {kinds.DEPOSIT: _("Deposit"), kinds.BALANCE: _("Balance"), kinds.STORAGE: _("Storage")}[
        kinds(kind)
    ]


def payment_state(request: PaymentRequest) -> str:
    if request.is_settled:
        return _("received")
    return _("being paid by card") if card_under_way(request) else _("open")


def payments_of(order: Order) -> list[dict[str, Any]]:
    """What is asked for, and the balance to come before it is."""
    rows: list[dict[str, Any]] = [
        {
            "label": payment_word(request.kind),
            "amount": request.amount,
            "settled": request.is_settled,
            "word": payment_state(request),
            "url": reverse("portal:pay", args=[order.token, request.kind]),
        }
        for request in order.payment_requests.order_by("asked_at")
        if order.state != Order.State.CANCELLED or request.paid
    ]
    asked = order.payment_requests.filter(kind=PaymentRequest.Kind.BALANCE).exists()
    if order.is_open and not asked and order.balance:
        rows.append(
            {
                "label": payment_word(PaymentRequest.Kind.BALANCE),
                "amount": order.balance,
                "settled": False,
                "word": _("comes with the invoice"),
                "url": "",
            }
        )
    return rows


def papers_of(order: Order) -> list[dict[str, str]]:
    """The papers a customer may have: those of the order and of its quote."""
    return [
        {
            "label": paper_label(paper),
            "url": reverse("portal:paper", args=[order.token, paper.pk]),
            "format": Path(paper.file_name).suffix[1:].upper(),
        }
        for paper in papers_for_customer(order)
    ]


def outstanding_of(order: Order) -> list[dict[str, Any]]:
    """Papers that belong to the order and are not there: by their word, and since when each is being made."""
    return [
        {"label": paper_word(paper.kind), "asked_at": paper.job.created_at if paper.job else None}
        for paper in documents.outstanding(order)
    ]


@require_POST
def ask_for_papers(request: HttpRequest, token: str) -> HttpResponse:
    """Have the papers made that are missing; asking more than once asks once."""
    order = access.by_token(Order, token)
    or_refuse(request, "link", token)
    documents.ask_for_outstanding(order, now=timezone.now())
    return redirect(f"{reverse('portal:order', args=[token])}#papers")


def pictures_of(order: Order) -> list[dict[str, str]]:
    labels = {Approval.Kind.DRAWING: _("Drawing"), Approval.Kind.MOCK_UP: _("Mock-up")}
    return [
        {
            "label": f"{labels[Approval.Kind(a.kind)]}, {_('revision')} {a.revision}",
            "url": reverse("portal:approval", args=[order.token, a.kind, a.revision]),
            "shape": PICTURE_SHAPES[Approval.State(a.state)],
            "word": picture_word(a),
        }
        for a in order.approvals.all()
    ]


def address_lines(address: dict[str, str]) -> str:
    """A postal address, one part a line."""
    town = " ".join(part for part in (address.get("postcode", ""), address.get("city", "")) if part)
    code = address.get("country", "")
    country = str(COUNTRIES.get(code, code))
    parts = (address.get("name"), address.get("street"), town, address.get("region"), country)
    return "\n".join(part for part in parts if part)


@require_POST
def write(request: HttpRequest, token: str) -> HttpResponse:
    """A message to the workshop on this order."""
    order = access.by_token(Order, token)
    form = MessageForm(request.POST)
    if not form.is_valid():
        return page(request, order, status=422, message_form=form)
    if held_back(request, form, "body", "link", token):
        return page(request, order, status=429, message_form=form)
    who = holder(request, order.address.get("name") or order.customer.name)
    write_to_workshop(who, order, body=form.cleaned_data["body"], now=timezone.now())
    messages.success(request, _("Your message is with the workshop."))
    return redirect("portal:order", token=token)


@require_safe
def paper(request: HttpRequest, token: str, paper_id: int) -> FileResponse:
    """One paper or picture of the order."""
    found = papers_for_customer(access.by_token(Order, token)).filter(pk=paper_id).first()
    if found is None:
        raise Http404
    return FileResponse(found.file.open("rb"), content_type=found.media_type, filename=found.file_name)


@require_safe
def photograph(request: HttpRequest, token: str, record_id: int) -> FileResponse:
    """A photograph from the bench of a stage's last try, once its propeller is released."""
    order = access.by_token(Order, token)
    found = (
        StageRecord.objects.filter(
            pk=record_id, stage__propeller__order=order, stage__propeller__state__in=RELEASED
        )
        .select_related("stage")
        .first()
    )
    if found is None or found not in photographs_of(found.stage):
        raise Http404
    return FileResponse(found.photo.open("rb"), content_type="image/jpeg")
