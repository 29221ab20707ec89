"""What the bookkeeper books besides orders: payouts of the card provider, tax remitted, carriers' bills, and reversals.

The chart has no creditors: what the shop buys is booked the day it is paid. A carrier's bill is therefore booked from the
bank to carriage outwards (selling cost, beside the freight that is charged, and no part of the build's cost).
"""

from datetime import date, datetime

from django.db import transaction
from django.db.models import Sum
from django.utils.translation import gettext as _

from orders.models import Account, Invoice, JournalEntry, JournalLine, Order, Payment, Workshop
from orders.refusal import Refused
from orders.services import audit, chart, journal, postings
from orders.services.journal import credit, debit
from orders.services.owed import back_of
from orders.services.payment import reference_of_bank
from orders.services.steps import locked
from orders.who import BOOKKEEPER, OWNER, Who
from quoting.pricing.money import Money

PAYOUT, TAX, CARRIAGE, TRANSFER = "payout ", "tax ", "carriage ", f"payment {postings.BANK} "
"""What the source of an entry begins with."""
MAY_BE_REVERSED = (PAYOUT, TAX, CARRIAGE, TRANSFER)


@transaction.atomic
def record_payout(
    who: Who, amount: Money, fee: Money, *, reference: str, paid_on: date, today: date, now: datetime
) -> JournalEntry:
    """The card provider paid out to the bank: `amount` as it arrived, `fee` as taken off on the way."""
    who.must_be(OWNER, BOOKKEEPER)
    reference = reference_of_bank(reference, field="reference")
    journal.must_be_open(paid_on, today=today, field="paid_on")
    held = Money.from_minor(_locked_in(chart.CLEARING, amount.currency), amount.currency)
    if not 0 < amount.minor or held.minor < amount.minor + fee.minor:
        text = _("Enter an amount above nothing; with its fee at most %(most)s is with the provider.")
        raise Refused("amount", text % {"most": held}, status=400, field="amount")
    return _book(
        who, f"{PAYOUT}{reference}",
        [
            debit(chart.BANK, amount.minor),
            debit(chart.FEES, fee.minor),
            credit(chart.CLEARING, amount.minor + fee.minor),
        ],
        text=f"Payout {reference}", currency=amount.currency, day=paid_on, now=now,
    )  # fmt: skip


@transaction.atomic
def record_tax(
    who: Who, amount: Money, *, reference: str, paid_on: date, today: date, now: datetime
) -> JournalEntry:
    """Tax was paid to the authority, at most what is payable."""
    who.must_be(OWNER, BOOKKEEPER)
    reference = reference_of_bank(reference, field="reference")
    journal.must_be_open(paid_on, today=today, field="paid_on")
    payable = Money.from_minor(_locked_in(chart.TAX, amount.currency), amount.currency)
    if not 0 < amount.minor <= payable.minor:
        text = _("Enter an amount above nothing; at most %(most)s is payable.") % {"most": payable}
        raise Refused("amount", text, status=400, field="amount")
    return _book(
        who, f"{TAX}{reference}", [debit(chart.TAX, amount.minor), credit(chart.BANK, amount.minor)],
        text=f"Tax remitted, {reference}", currency=amount.currency, day=paid_on, now=now,
    )  # fmt: skip


@transaction.atomic
def record_carriage(
    who: Who,
    order: Order,
    net: Money,
    tax: Money,
    *,
    reference: str,
    paid_on: date,
    today: date,
    now: datetime,
) -> JournalEntry:
    """A carrier's bill was paid: `net` is carriage outwards, `tax` on it is reclaimed; it is noted on the order too."""
    who.must_be(OWNER, BOOKKEEPER)
    order = locked(order)
    if order.state != Order.State.DISPATCHED:
        raise Refused("wrong-state", _("Order %(n)s is not sent yet.") % {"n": order.number})
    reference = reference_of_bank(reference, field="reference")
    journal.must_be_open(paid_on, today=today, field="paid_on")
    if net.minor <= 0:
        raise Refused("amount", _("Enter an amount above nothing."), status=400, field="net")
    if tax.minor > net.minor:
        text = _("The tax is more than the bill before tax.")
        raise Refused("amount", text, status=400, field="tax")
    entry = _book(
        who, f"{CARRIAGE}{reference}",
        [
            debit(chart.CARRIAGE, net.minor),
            debit(chart.TAX, tax.minor),
            credit(chart.BANK, net.minor + tax.minor),
        ],
        text=f"Carrier's bill, {reference}", currency=net.currency, day=paid_on, now=now,
        order_number=order.number,
    )  # fmt: skip
    _note_carriage(order)
    return entry


def held_in(account: str) -> dict[str, int]:
    """What an account shows in each currency it was posted in, as it usually stands, in minor units; never empty."""
    lines = JournalLine.objects.filter(account__code=account, entry__posted=True)
    rows = lines.values_list("currency").annotate(Sum("debit"), Sum("credit")).order_by("currency")
    _name, kind = chart.CHART[account]
    sign = 1 if kind in (Account.Kind.ASSET, Account.Kind.EXPENSE) else -1
    found = {currency: sign * (debits - credits) for currency, debits, credits in rows}
    return found or {Workshop.objects.get().currency: 0}


def why_not_reversed(entry: JournalEntry) -> str:
    """Why an entry stays as it is, in words that say what mends it; empty when it may be reversed."""
    if JournalEntry.objects.filter(reverses=entry).exists():
        return _("It is reversed already.")
    if not entry.source.startswith(MAY_BE_REVERSED):
        return _(
            "It follows from a step of an order and is corrected there: a sale by a credit note or refund,"
            " an order by cancelling it, what is owed by paying it back."
        )
    return _why_transfer_stays(entry) if entry.source.startswith(TRANSFER) else ""


@transaction.atomic
def take_back(who: Who, entry: JournalEntry, *, reason: str, today: date, now: datetime) -> JournalEntry:
    """Reverse an entry that was booked wrong, with a reason; a bank transfer is taken off what it was counted for."""
    who.must_be(OWNER, BOOKKEEPER)
    order = Order.objects.filter(number=entry.order_number).first() if entry.order_number else None
    if order:
        order = locked(order)
    hindrance = why_not_reversed(entry)
    if hindrance:
        raise Refused("stays", hindrance, field="reason")
    mirror = journal.reverse(who, entry, reason=reason.strip(), today=today, now=now)
    if entry.source.startswith(TRANSFER):
        _take_off(who, _transfer(entry), reason, day=mirror.posting_date, now=now)
    elif order and entry.source.startswith(CARRIAGE):
        _note_carriage(order)
    return mirror


def _why_transfer_stays(entry: JournalEntry) -> str:
    payment = _transfer(entry)
    order = payment.order
    if order is None:
        return ""
    issued = order.invoices.filter(type_code=Invoice.TypeCode.INVOICE, created_at__gte=payment.recorded_at)
    if issued.exists():
        return _("The invoice counts it as paid; credit the invoice or pay the money back instead.")
    found = postings.standing(order)
    there = {chart.DEPOSITS: found.held, chart.CREDIT: back_of(order).credit, chart.OWED: back_of(order).owed}
    for line in entry.lines.select_related("account"):
        if line.credit > there.get(line.account.code, line.credit):
            return _("The money was used or paid back since; it can no longer be taken back.")
    return ""


def _transfer(entry: JournalEntry) -> Payment:
    return Payment.objects.select_related("order", "request").get(
        provider=postings.BANK, fact=entry.source.removeprefix(TRANSFER)
    )


def _take_off(who: Who, payment: Payment, reason: str, *, day: date, now: datetime) -> None:
    """The counterpart of a transfer that never came; its request is open again by so much."""
    Payment.objects.create(
        provider=payment.provider, fact=f"{payment.fact}{Payment.TAKEN_BACK}", kind=Payment.Kind.REFUND,
        order=payment.order, customer=payment.customer, request=payment.request, amount=-payment.amount,
        currency=payment.currency, received_on=day, reference=payment.reference, recorded_by=who.name[:120],
        recorded_at=now,
    )  # fmt: skip
    if payment.order:
        audit.record(
            who, "take back a transfer", f"order {payment.order.number}", now=now, reason=reason,
            detail={"amount": payment.amount, "fact": payment.fact},
        )  # fmt: skip


def _note_carriage(order: Order) -> None:
    """What carriage cost in the end is what the carriers' bills come to."""
    paid = postings.balance(chart.CARRIAGE, order_number=order.number)
    Order.objects.filter(pk=order.pk).update(freight_cost=paid or None)


def _locked_in(account: str, currency: str) -> int:
    """What an account shows in a currency, the account locked against a second of these entries."""
    Account.objects.select_for_update().get(pk=chart.account(account).pk)
    return held_in(account).get(currency, 0)


def _book(
    who: Who,
    source: str,
    sides: list[journal.Side],
    *,
    text: str,
    currency: str,
    day: date,
    now: datetime,
    order_number: str = "",
) -> JournalEntry:
    """Post on the day that was typed; a reference is booked once, and again only after it was reversed."""
    name, turn = source, 1
    while (before := JournalEntry.objects.filter(source=name).first()) is not None:
        if not JournalEntry.objects.filter(reverses=before).exists():
            again = _("A payment with this reference is booked already.")
            raise Refused("booked-already", again, field="reference")
        turn += 1
        name = f"{source} ({turn})"
    entry = journal.post(
        who, name, sides, text=text, currency=currency, today=day, now=now, order_number=order_number
    )
    audit.record(who, "book", f"journal entry {entry.number}", now=now, detail={"source": name})
    return entry
