"""Money given back after delivery: by bank at once, by card through the provider, with the tax on it taken back."""

import uuid
from datetime import date, datetime
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Sum
from django.utils import timezone

from orders.models import JournalLine, Order, Payment
from orders.refusal import Refused
from orders.services import audit, card, chart, outbox, postings
from orders.services.steps import locked
from orders.who import BOOKKEEPER, OWNER, THE_SERVICE, Who


def tax_on(order: Order, net: int) -> int:
    """Tax that goes back with `net`: worked on all refunds so far together, so that nothing is left over at the end."""
    lines = JournalLine.objects.filter(entry__posted=True, entry__order_number=order.number)
    before = lines.filter(account__code=chart.REFUNDS).aggregate(sum=Sum("debit"))["sum"] or 0
    given = lines.filter(account__code=chart.TAX, entry__source__startswith="refund ").aggregate(
        sum=Sum("debit")
    )
    return postings.tax_on_net(order, before + net) - (given["sum"] or 0)


@transaction.atomic
def refund_by_bank(
    who: Who, order: Order, net: int, *, bank_reference: str, reason: str, today: date, now: datetime
) -> Payment:
    """Record money sent back by bank after delivery. `net` is without tax, in minor units."""
    _check(who, order, net, reason)
    if not bank_reference.strip():
        raise Refused("reference-missing", "Enter the bank's reference.", status=400, field="bank_reference")
    return _give(who, locked(order), net, "bank", bank_reference.strip()[:255], reason, today=today, now=now)


@transaction.atomic
def refund_by_card(who: Who, order: Order, net: int, *, reason: str, now: datetime) -> None:
    """Have the provider send money back on the order's latest card payment; a job calls it and books the fact."""
    _check(who, order, net, reason)
    order = locked(order)
    paid = order.payments.filter(provider=card.PROVIDER, kind=Payment.Kind.RECEIPT).order_by("-id").first()
    if paid is None:
        raise Refused("no-card-payment", "This order was not paid by card; send the money by bank.")
    outbox.enqueue(
        "refund-by-card",
        {"order": order.pk, "payment": paid.pk, "net": net, "reason": reason, "key": str(uuid.uuid4())},
        now=now,
    )


def send_back(payload: dict[str, Any]) -> None:
    """Job: refund at the provider under the stored key, outside any transaction, then book what it says."""
    order = Order.objects.get(pk=payload["order"])
    paid = Payment.objects.get(pk=payload["payment"])
    gross = payload["net"] + tax_on(order, payload["net"])
    made = card.refund(paid.fact.removesuffix(":receipt"), gross, paid.currency, key=payload["key"])
    now = timezone.now()
    with transaction.atomic():
        if Payment.objects.filter(provider=card.PROVIDER, fact=f"{made}:refund").exists():
            return
        _give(
            THE_SERVICE, locked(order), payload["net"], card.PROVIDER, f"{made}:refund", payload["reason"],
            today=timezone.localdate(now), now=now,
        )  # fmt: skip


def _check(who: Who, order: Order, net: int, reason: str) -> None:
    who.must_be(OWNER, BOOKKEEPER)
    if order.state != Order.State.DISPATCHED:
        raise Refused(
            "wrong-state", f"Order {order.number} is {order.state}; before delivery it is cancelled instead."
        )
    if not reason.strip():
        raise Refused("reason-missing", "Say why money goes back.", status=400, field="reason")
    before = -postings.balance(chart.REFUNDS, order_number=order.number)
    if not 0 < net <= order.net + before:
        raise Refused(
            "amount",
            f"Between 1 and {order.net + before} minor units net can go back.",
            status=400,
            field="net",
        )


def _give(
    who: Who, order: Order, net: int, provider: str, fact: str, reason: str, *, today: date, now: datetime
) -> Payment:
    tax = tax_on(order, net)
    try:
        with transaction.atomic():
            payment = Payment.objects.create(
                provider=provider, fact=fact, kind=Payment.Kind.REFUND, order=order, customer=order.customer,
                amount=-(net + tax), currency=order.currency, received_on=today, reference=order.number,
                recorded_by=who.name, recorded_at=now,
            )  # fmt: skip
    except IntegrityError as again:
        raise Refused("recorded-already", "A refund with this reference is recorded.") from again
    postings.refunded(who, order, payment, net=net, tax=tax, today=today, now=now)
    audit.record(
        who, "refund", f"order {order.number}", now=now, reason=reason, detail={"net": net, "tax": tax}
    )
    return payment
