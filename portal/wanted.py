"""What is wanted from the customer of an order, first things first."""

from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext as _

from orders.models import Approval, Order, PaymentAttempt, PaymentRequest
from orders.services import assumptions
from portal.templatetags.sheet import day, moment, money
from quoting.models import Quote
from quoting.services.assumptions import HAND, HOLES, HUB, TIMBER


@dataclass(frozen=True, slots=True)
class Wish:
    """One thing to do: in words, why, where, and of which order."""

    words: str
    why: str
    url: str
    about: str


def wanted_from(order: Order) -> list[Wish]:
    """Payments that are open and pictures that wait for a word; nothing on an order that has ended."""
    if order.state == Order.State.CANCELLED:
        return []
    return [
        *revision_wanted(order),
        *payments_wanted(order),
        *answers_wanted(order),
        *decisions_wanted(order),
    ]


def revision_out(order: Order) -> Quote | None:
    """The revision sent to an order that waits for one."""
    if not assumptions.is_answered_otherwise(order):
        return None
    return order.series.revisions.filter(state=Quote.State.SENT).first()


def revision_wanted(order: Order) -> list[Wish]:
    """The revised quote an order waits for, once it is out."""
    sent = revision_out(order)
    if sent is None:
        return []
    return [
        Wish(
            _("Accept the revised quote"),
            _("It holds your answers; the order waits for it."),
            reverse("portal:quote", args=[sent.token]),
            order.number,
        )
    ]


def answers_wanted(order: Order) -> list[Wish]:
    """One wish for all the questions that are open."""
    questions = assumptions.unanswered(order)
    if not questions or order.state != Order.State.WAITING:
        return []
    names = {HAND: _("hand"), HUB: _("bolt pattern"), HOLES: _("bolt holes"), TIMBER: _("timber")}
    what = ", ".join(names[row.key] for row in questions)
    return [
        Wish(
            _("Confirm, or say otherwise: %(what)s") % {"what": what},
            _("The quote assumed it. Nothing is built before."),
            reverse("portal:questions", args=[order.token]),
            order.number,
        )
    ]


def card_under_way(request: PaymentRequest) -> PaymentAttempt | None:
    """The card payment that was begun for a request and of which the provider has not told the end."""
    return request.attempts.filter(state=PaymentAttempt.State.OPEN).order_by("-created_at").first()


def payments_wanted(order: Order) -> list[Wish]:
    """Each open amount; one that is being paid by card says so and asks for nothing."""
    open_requests = [
        request for request in order.payment_requests.order_by("asked_at") if not request.is_settled
    ]
    return [payment_wish(order, request, card_under_way(request)) for request in open_requests]


def payment_wish(order: Order, request: PaymentRequest, under_way: PaymentAttempt | None) -> Wish:
    url = reverse("portal:pay", args=[order.token, request.kind])
    if under_way:
        began = _("Begun %(when)s; we wait for the card provider's word. If you have paid, do nothing.")
        when = moment(under_way.created_at)
        return Wish(under_way_words(request), began % {"when": when}, url, order.number)
    due = _("%(sum)s, due %(day)s") % {
        "sum": money(request.open, request.currency),
        "day": day(request.due_on),
    }
    return Wish(payment_words(request), due, url, order.number)


def decisions_wanted(order: Order) -> list[Wish]:
    """Pictures to decide on; none while an answer waits for a revision, which has its own."""
    if assumptions.is_answered_otherwise(order):
        return []
    asked = order.approvals.filter(state=Approval.State.ASKED)
    why = {
        Approval.Kind.DRAWING: _("No wood is cut before."),
        Approval.Kind.MOCK_UP: _("No varnish is laid before."),
    }
    return [
        Wish(
            approval_words(approval),
            str(why[Approval.Kind(approval.kind)]),
            reverse("portal:approval", args=[order.token, approval.kind, approval.revision]),
            order.number,
        )
        for approval in asked
    ]


def payment_words(request: PaymentRequest) -> str:
    return {
        PaymentRequest.Kind.DEPOSIT: _("Pay the deposit"),
        PaymentRequest.Kind.BALANCE: _("Pay the balance"),
        PaymentRequest.Kind.STORAGE: _("Pay the storage"),
    }[PaymentRequest.Kind(request.kind)]


def under_way_words(request: PaymentRequest) -> str:
    return {
        PaymentRequest.Kind.DEPOSIT: _("The deposit is being paid by card"),
        PaymentRequest.Kind.BALANCE: _("The balance is being paid by card"),
        PaymentRequest.Kind.STORAGE: _("The storage is being paid by card"),
    }[PaymentRequest.Kind(request.kind)]


def approval_words(approval: Approval) -> str:
    if approval.kind == Approval.Kind.DRAWING:
        return _("Approve the drawing, or want changes")
    return _("Approve the mock-up, or want changes")
