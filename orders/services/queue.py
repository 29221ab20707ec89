"""The queue: an order joins it with its deposit paid, its questions answered, its drawing approved; hold, cancel."""

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from orders.models import Approval, Order, PaymentRequest, Propeller
from orders.refusal import Refused
from orders.services import assumptions, documents, letters
from orders.services.promising import promise_on_joining
from orders.services.steps import locked, move_order
from orders.who import OWNER, Who
from quoting.services.numbering import take_number

S = Order.State


def waits_on(order: Order) -> tuple[str, ...]:
    """What keeps a waiting order out of the queue: "deposit", "answers", "drawing"."""
    deposit = order.payment_requests.filter(kind=PaymentRequest.Kind.DEPOSIT).first()
    waits = []
    if deposit is None or not deposit.is_settled:
        waits.append("deposit")
    if assumptions.keeps_waiting(order):
        waits.append("answers")
    if not is_approved(order, Approval.Kind.DRAWING):
        waits.append("drawing")
    return tuple(waits)


def is_approved(order: Order, kind: str) -> bool:
    """Whether the latest revision of a picture is approved."""
    latest = order.approvals.filter(kind=kind).order_by("-revision").first()
    return latest is not None and latest.state == Approval.State.APPROVED


def join_if_ready(who: Who, order: Order, *, now: datetime) -> bool:
    """Let a waiting order join the queue when nothing is missing; assumes a transaction that locked the order."""
    order.refresh_from_db()
    if order.state != S.WAITING or waits_on(order):
        return False
    promise = promise_on_joining(order, timezone.localdate(now))
    move_order(who, order, S.QUEUED, now=now, verb="join the queue", queued_at=now, promise=promise)
    for propeller in order.propellers.filter(serial=None).order_by("position"):
        serial = f"{timezone.localdate(now):%y}{take_number('propeller'):04d}"
        Propeller.objects.filter(pk=propeller.pk).update(serial=serial)
    letters.order_queued(order, now=now)
    documents.ask_for("build-card", order, now=now)
    return True


@transaction.atomic
def hold(who: Who, order: Order, *, reason: str, now: datetime) -> None:
    """Put an order on hold; it keeps its place in the build."""
    who.must_be(OWNER)
    if not reason.strip():
        raise Refused("reason-missing", "Say why the order is held.", status=400, field="reason")
    order = locked(order)
    move_order(
        who, order, S.HELD, now=now, verb="hold", reason=reason, held_from=order.state, held_reason=reason
    )


@transaction.atomic
def release_hold(who: Who, order: Order, *, now: datetime) -> None:
    """Take an order off hold, back to where it was."""
    who.must_be(OWNER)
    order = locked(order)
    if order.state != S.HELD:
        raise Refused("wrong-state", f"Order {order.number} is {order.state}, not held.")
    move_order(who, order, order.held_from, now=now, verb="release hold", held_from="", held_reason="")
    join_if_ready(who, order, now=now)
