"""Cancelling an order before delivery: what the terms let the shop keep stays, everything else paid is owed back."""

from datetime import date, datetime

from django.db import transaction
from django.utils.translation import gettext as _

from orders.models import Order, PaymentAttempt, Propeller
from orders.refusal import Refused
from orders.services import crediting, letters, outbox, postings
from orders.services.owed import back_of
from orders.services.steps import locked, move_order
from orders.who import OWNER, Who
from quoting.pricing.money import Money


@transaction.atomic
def cancel_order(who: Who, order: Order, *, reason: str, retained: int, today: date, now: datetime) -> None:
    """Cancel before delivery. `retained` minor units stay with the shop under the terms; the rest is owed back.

    An invoice that is out is credited whole; card sessions still open are closed by a job.
    """
    who.must_be(OWNER)
    if not reason.strip():
        raise Refused("reason-missing", _("Say why the order is cancelled."), status=400, field="reason")
    order = locked(order)
    received = postings.standing(order).on_account + back_of(order).credit
    if not 0 <= retained <= received:
        most = Money.from_minor(received, order.currency)
        text = _("At most %(most)s was paid and can be kept.") % {"most": most}
        raise Refused("retained", text, status=400, field="retained")
    move_order(who, order, Order.State.CANCELLED, now=now, verb="cancel", reason=reason)
    order.propellers.exclude(state=Propeller.State.SCRAPPED).update(state=Propeller.State.SCRAPPED)
    postings.cancelled(who, order, retained=retained, today=today, now=now)
    crediting.credit_all(who, order, reason=reason, today=today, now=now)
    under_way = PaymentAttempt.objects.filter(request__order=order, state__in=PaymentAttempt.UNDER_WAY)
    if under_way.exists():
        outbox.enqueue("close-sessions", {"order": order.pk}, now=now)
    kept, back = (Money.from_minor(sum_, order.currency) for sum_ in (retained, back_of(order).owed))
    letters.order_cancelled(order, kept, back, reason, now=now)
