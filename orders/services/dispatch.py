"""Dispatch: only what is released, crated, invoiced and paid leaves; revenue is booked as it goes."""

from datetime import date, datetime

from django.db import transaction

from orders.models import Invoice, Order, PaymentRequest, Propeller, Stage
from orders.refusal import Refused
from orders.services import audit, documents, letters, postings
from orders.services.steps import locked, move_order
from orders.who import BOOKKEEPER, OWNER, Who
from quoting.pricing.money import Money
from quoting.propeller.build import CRATING

UNPAID, UNSTORED = "the balance is not paid", "the storage is not paid"
"""What the owner may write over: the goods go on account."""


def hindrances(order: Order) -> tuple[str, ...]:
    """What keeps an order from being sent, in words."""
    found = []
    articles = order.propellers.exclude(state=Propeller.State.SCRAPPED)
    if articles.exclude(state=Propeller.State.RELEASED).exists():
        found.append("not every propeller is released")
    if Stage.objects.filter(propeller__in=articles, key=CRATING).exclude(state=Stage.State.DONE).exists():
        found.append("not every propeller is crated")
    if not order.invoices.filter(type_code=Invoice.TypeCode.INVOICE).exists():
        found.append("the invoice is not issued")
    balance = order.payment_requests.filter(kind=PaymentRequest.Kind.BALANCE).first()
    if balance is None or not balance.is_settled:
        found.append(UNPAID)
    storage = order.payment_requests.filter(kind=PaymentRequest.Kind.STORAGE).first()
    if storage is not None and not storage.is_settled:
        found.append(UNSTORED)
    return tuple(found)


@transaction.atomic
def dispatch_order(
    who: Who,
    order: Order,
    *,
    carrier: str,
    tracking: str = "",
    on_account: str = "",
    freight_cost: Money | None = None,
    today: date,
    now: datetime,
) -> Order:
    """Send an order. `on_account` is the owner's written reason to send before it is paid.

    `freight_cost` is what the carrier asks, where it is known already.
    """
    who.must_be(OWNER)
    order = locked(order)
    if order.state != Order.State.READY:
        raise Refused("wrong-state", f"Order {order.number} is {order.state}; only a ready order is sent.")
    missing = [h for h in hindrances(order) if not (on_account.strip() and h in (UNPAID, UNSTORED))]
    if missing:
        raise Refused("not-ready", f"Order {order.number} stays here: {', '.join(missing)}.")
    if not carrier.strip():
        raise Refused("carrier-missing", "Enter who carries it.", status=400, field="carrier")
    invoice = order.invoices.get(type_code=Invoice.TypeCode.INVOICE)
    postings.delivered(who, order, invoice, today=today, now=now)
    move_order(
        who, order, Order.State.DISPATCHED, now=now, verb="dispatch", reason=on_account,
        dispatched_at=now, carrier=carrier.strip()[:120], tracking=tracking.strip()[:120],
        freight_cost=_minor(order, freight_cost),
    )  # fmt: skip
    for propeller in order.propellers.filter(state=Propeller.State.RELEASED):
        Propeller.objects.filter(pk=propeller.pk).update(state=Propeller.State.DISPATCHED)
        audit.record(
            who, "dispatch", f"propeller {propeller.serial}", now=now,
            before=Propeller.State.RELEASED, after=Propeller.State.DISPATCHED,
        )  # fmt: skip
    documents.ask_for_outstanding(order, now=now)
    letters.order_dispatched(order, now=now)
    return order


@transaction.atomic
def note_freight_cost(who: Who, order: Order, cost: Money, *, now: datetime) -> None:
    """What carriage cost in the end, from the carrier's bill: it teaches the price book and books nothing."""
    who.must_be(OWNER, BOOKKEEPER)
    order = locked(order)
    if order.state != Order.State.DISPATCHED:
        raise Refused("wrong-state", f"Order {order.number} is {order.state}; it is not sent yet.")
    before, after = order.freight_cost, _minor(order, cost)
    Order.objects.filter(pk=order.pk).update(freight_cost=after)
    audit.record(
        who, "note freight", f"order {order.number}", now=now, detail={"freight_cost": [before, after]}
    )


def _minor(order: Order, cost: Money | None) -> int | None:
    if cost is not None and cost.currency != order.currency:
        raise Refused("currency", f"Enter it in {order.currency}.", status=400, field="freight_cost")
    return None if cost is None else cost.minor
