"""Money that goes back: what is owed, and refunds after delivery with their tax. By bank it is recorded with the bank's
reference; by card the worker asks the provider and books what it answers.

Every sum is checked under the order's lock, with what the provider is asked for already taken off.
"""

from datetime import date, datetime, timedelta
from typing import Any

import stripe
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from orders.models import CardRefund, Order, Payment
from orders.refusal import Refused
from orders.services import audit, card, journal, letters, outbox, postings
from orders.services.owed import Back, back_of, on_cards
from orders.services.payment import reference_of_bank
from orders.services.steps import locked
from orders.who import BOOKKEEPER, OWNER, Who
from quoting.pricing.money import Money

KEY_IS_KEPT = timedelta(hours=23)
"""The provider may forget an idempotency key after a day; from then on it is asked what it has given back already."""
S = CardRefund.State


@transaction.atomic
def pay_back_by_bank(
    who: Who, order: Order, amount: int, *, bank_reference: str, paid_on: date, today: date, now: datetime
) -> Payment:
    """Record a transfer that paid back what was owed. `amount` in minor units."""
    order = _begin(who, order)
    _within_owed(order, back_of(order), amount)
    journal.must_be_open(paid_on, today=today, field="paid_on")
    fact = reference_of_bank(bank_reference)
    return _paid_back(who, order, amount, postings.BANK, fact, _("What was owed"), day=paid_on, now=now)


@transaction.atomic
def pay_back_by_card(who: Who, order: Order, amount: int, *, now: datetime) -> list[CardRefund]:
    """Have the provider pay back what is owed, on the latest card payments first."""
    order = _begin(who, order)
    back = back_of(order)
    _within_owed(order, back, amount)
    return _ask(who, order, back, amount, 0, 0, _("What was owed"), field="amount", now=now)


@transaction.atomic
def refund_by_bank(
    who: Who,
    order: Order,
    net: int,
    *,
    bank_reference: str,
    reason: str,
    paid_on: date,
    today: date,
    now: datetime,
) -> Payment:
    """Record a transfer that refunded part of a sale. `net` is without tax, in minor units."""
    order = _begin(who, order)
    tax = _within_sale(order, back_of(order), net, reason)
    journal.must_be_open(paid_on, today=today, field="paid_on")
    fact = reference_of_bank(bank_reference)
    return _refunded(who, order, net, tax, postings.BANK, fact, reason, day=paid_on, now=now)


@transaction.atomic
def refund_by_card(who: Who, order: Order, net: int, *, reason: str, now: datetime) -> list[CardRefund]:
    """Have the provider refund part of a sale, with its tax as it is worked out now."""
    order = _begin(who, order)
    back = back_of(order)
    tax = _within_sale(order, back, net, reason)
    return _ask(who, order, back, net + tax, net, tax, reason, field="net", now=now)


def send_back(payload: dict[str, Any]) -> None:
    """Job: have the provider give the money back, outside any transaction, then book what it says, once.

    What it refuses for good is marked so and told to the owner; the sum is free again.
    """
    asked = CardRefund.objects.select_related("paid").get(pk=payload["refund"])
    if asked.state != S.QUEUED:
        return
    now = timezone.now()
    forgotten = asked.tried_at is not None and asked.tried_at < now - KEY_IS_KEPT
    CardRefund.objects.filter(pk=asked.pk, tried_at=None).update(tried_at=now)
    intent = asked.paid.fact.removesuffix(":receipt")
    try:
        made = card.refund_made(intent, str(asked.pk)) if forgotten else None
        made = made or card.refund(intent, asked.amount, asked.paid.currency, key=str(asked.pk))
    except (stripe.InvalidRequestError, stripe.CardError) as refusal:
        _failed(asked, refusal.user_message or str(refusal), now=now)
        return
    if made.status in card.REFUND_CAME_TO_NOTHING:
        _failed(asked, _("The provider says: %(status)s.") % {"status": made.status}, now=now)
    else:
        _book(asked, f"{made.refund}:refund", now=now)


@transaction.atomic
def _book(asked: CardRefund, fact: str, *, now: datetime) -> None:
    order = locked(asked.order)
    asked = CardRefund.objects.select_for_update().get(pk=asked.pk)
    if asked.state != S.QUEUED:
        return
    who, day = Who(asked.asked_by), timezone.localdate(now)
    if asked.is_of_sale:
        given = _refunded(
            who, order, asked.net, asked.tax, card.PROVIDER, fact, asked.reason, day=day, now=now
        )
    else:
        given = _paid_back(who, order, asked.amount, card.PROVIDER, fact, asked.reason, day=day, now=now)
    CardRefund.objects.filter(pk=asked.pk).update(state=S.DONE, given=given)


@transaction.atomic
def _failed(asked: CardRefund, trouble: str, *, now: datetime) -> None:
    if not CardRefund.objects.filter(pk=asked.pk, state=S.QUEUED).update(
        state=S.FAILED, trouble=trouble[:255]
    ):
        return
    letters.alert_owner(
        _("A refund by card was refused, order %(number)s") % {"number": asked.order.number},
        _("The provider gave back nothing of %(amount)s: %(trouble)s Pay it back by bank instead.")
        % {"amount": Money.from_minor(asked.amount, asked.order.currency), "trouble": trouble},
        now=now,
    )


def _begin(who: Who, order: Order) -> Order:
    who.must_be(OWNER, BOOKKEEPER)
    return locked(order)


def _within_owed(order: Order, back: Back, amount: int) -> None:
    if not back.owed:
        raise Refused("nothing-owed", _("Nothing is owed back on order %(n)s.") % {"n": order.number})
    if not 0 < amount <= back.owed:
        most = Money.from_minor(back.owed, order.currency)
        text = _("Enter an amount above nothing and up to %(most)s, which is owed.") % {"most": most}
        raise Refused("amount", text, status=400, field="amount")


def _within_sale(order: Order, back: Back, net: int, reason: str) -> int:
    """The tax that goes back with a refund, or Refused."""
    if order.state != Order.State.DISPATCHED:
        raise Refused(
            "wrong-state",
            _("Order %(n)s is not delivered; before delivery it is cancelled, or credited, instead.")
            % {"n": order.number},
        )
    if not reason.strip():
        raise Refused("reason-missing", _("Say why money goes back."), status=400, field="reason")
    if not 0 < net <= back.net:
        most = Money.from_minor(back.net, order.currency)
        text = _("Enter an amount above nothing and up to %(most)s, which is left of the sale before tax.")
        raise Refused("amount", text % {"most": most}, status=400, field="net")
    tax = back.tax_on(net)
    if net + tax > back.received:
        most = Money.from_minor(back.received, order.currency)
        text = _("With its tax this is more than the %(most)s that came in for the sale and is still here.")
        raise Refused("amount", text % {"most": most}, status=400, field="net")
    return tax


def _ask(
    who: Who,
    order: Order,
    back: Back,
    amount: int,
    net: int,
    tax: int,
    reason: str,
    *,
    field: str,
    now: datetime,
) -> list[CardRefund]:
    """Ask the provider for `amount`, spread over the card payments; tax in proportion, the last part takes the rest."""
    if not back.by_card:
        raise Refused("no-card-payment", _("Nothing can go back by card; send it by bank."))
    if amount > back.by_card:
        most = Money.from_minor(back.by_card, order.currency)
        text = _("At most %(most)s, tax included, can go back by card; send the rest by bank.")
        raise Refused("amount", text % {"most": most}, status=400, field=field)
    card.client()
    made: list[CardRefund] = []
    rest, rest_tax = amount, tax
    for paid, left in on_cards(order):
        part = min(rest, left)
        of_tax = rest_tax if part == rest else postings.share(part, tax, amount)
        refund = CardRefund.objects.create(
            order=order, paid=paid, amount=part, net=part - of_tax if net else 0, tax=of_tax,
            reason=reason.strip(), asked_by=who.name[:120], asked_at=now,
        )  # fmt: skip
        outbox.enqueue("refund-by-card", {"refund": str(refund.pk)}, now=now)
        made.append(refund)
        rest, rest_tax = rest - part, rest_tax - of_tax
        if not rest:
            break
    audit.record(
        who, "ask for a card refund", f"order {order.number}", now=now, reason=reason,
        detail={"amount": amount, "net": net, "tax": tax},
    )  # fmt: skip
    return made


def _refunded(
    who: Who,
    order: Order,
    net: int,
    tax: int,
    provider: str,
    fact: str,
    reason: str,
    *,
    day: date,
    now: datetime,
) -> Payment:
    payment = _given(who, order, net + tax, provider, fact, reason, day=day, now=now)
    postings.refunded(who, order, payment, net=net, tax=tax, today=day, now=now)
    return payment


def _paid_back(
    who: Who, order: Order, amount: int, provider: str, fact: str, reason: str, *, day: date, now: datetime
) -> Payment:
    payment = _given(who, order, amount, provider, fact, reason, day=day, now=now)
    postings.paid_back(who, order, payment, today=day, now=now)
    return payment


def _given(
    who: Who, order: Order, amount: int, provider: str, fact: str, reason: str, *, day: date, now: datetime
) -> Payment:
    """The fact that money went back, on record and told to the customer."""
    try:
        with transaction.atomic():
            payment = Payment.objects.create(
                provider=provider, fact=fact, kind=Payment.Kind.REFUND, order=order, customer=order.customer,
                amount=-amount, currency=order.currency, received_on=day, reference=order.number,
                recorded_by=who.name[:120], recorded_at=now,
            )  # fmt: skip
    except IntegrityError as again:
        text = _("A transfer with this reference is recorded already.")
        raise Refused("recorded-already", text, field="bank_reference") from again
    audit.record(who, "give back", f"order {order.number}", now=now, reason=reason, detail={"amount": amount})
    letters.money_back(payment, now=now)
    return payment
