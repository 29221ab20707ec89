"""Which entry each step of an order makes. Deposits are a contract liability until the propeller is handed over.

Follows IFRS 15.105-109: money received before the transfer is a contract liability, revenue comes at the transfer; what
is to go back to a customer is a refund liability (IFRS 15.55) until it is paid back. The owner's choice `deposit_tax`
says whether tax falls due at delivery or already on receipt (Directive 2006/112/EC, article 65). Each function assumes
the caller's transaction and its lock on the order, and posts under a source that names its fact.
"""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import F, Sum

from orders.models import Invoice, JournalEntry, JournalLine, Order, Payment, Workshop
from orders.services import chart
from orders.services.journal import Side, credit, debit, post
from orders.who import Who
from quoting.pricing.money import round_half_up

BANK = "bank"
"""The provider of what goes by bank transfer."""


def money_account(provider: str) -> str:
    """Bank transfers are in the bank; card payments are with the processor until it pays out."""
    return chart.BANK if provider == BANK else chart.CLEARING


def share(amount: int, part: int, whole: int) -> int:
    """The part of an amount in the proportion `part` to `whole`, rounded half up; nothing of nothing."""
    return int(round_half_up(Decimal(amount) * part / whole, 0)) if whole else 0


def taxed_on_receipt() -> bool:
    return Workshop.objects.get().deposit_tax == Workshop.DepositTax.ON_RECEIPT


def balance(account: str, *, order_number: str = "", currency: str = "") -> int:
    """Debits less credits of an account, of one order or currency or of all, posted entries only."""
    lines = JournalLine.objects.filter(account__code=account, entry__posted=True)
    if order_number:
        lines = lines.filter(entry__order_number=order_number)
    if currency:
        lines = lines.filter(currency=currency)
    return lines.aggregate(sum=Sum(F("debit") - F("credit")))["sum"] or 0


@dataclass(frozen=True, slots=True)
class Standing:
    """What the books say of one order, in minor units, each the sum by which its account usually stands.

    `held` deposits net of the tax booked with them, `credit` beyond what was asked, `owed` back, `tax` payable,
    `receivable` still to come, `revenue` less discounts and refunds, `work` in progress.
    """

    held: int
    credit: int
    owed: int
    tax: int
    receivable: int
    revenue: int
    work: int

    @property
    def on_account(self) -> int:
        """What was paid towards the invoice before delivery, with its tax."""
        return self.held + self.tax


REVENUE = (chart.SALES, chart.FREIGHT, chart.DISCOUNTS, chart.REFUNDS)


def standing(order: Order) -> Standing:
    """The order's accounts in one question; the caller's lock keeps them so.

    Carriers' bills are left out: the tax on them is the shop's own affair, not the customer's.
    """
    lines = JournalLine.objects.filter(entry__posted=True, entry__order_number=order.number)
    lines = lines.exclude(entry__lines__account__code=chart.CARRIAGE)
    rows = lines.values_list("account__code").annotate(Sum("credit"), Sum("debit"))
    by_code = {code: credits - debits for code, credits, debits in rows}
    of = by_code.get
    return Standing(
        of(chart.DEPOSITS, 0),
        of(chart.CREDIT, 0),
        of(chart.OWED, 0),
        of(chart.TAX, 0),
        -of(chart.RECEIVABLE, 0),
        sum(of(code, 0) for code in REVENUE),
        -of(chart.WORK_IN_PROGRESS, 0),
    )


def received(who: Who, payment: Payment, expected: int, *, today: date, now: datetime) -> None:
    """Money came in: up to `expected` it settles what was asked, anything beyond is the customer's credit.

    What comes for a cancelled order is owed back at once.
    """
    order = payment.order
    number = order.number if order else ""
    sides = [debit(money_account(payment.provider), payment.amount)]
    if order is None:
        sides.append(credit(chart.CREDIT, payment.amount))
    elif order.state == Order.State.CANCELLED:
        sides.append(credit(chart.OWED, payment.amount))
    elif order.state == Order.State.DISPATCHED:
        settled = min(payment.amount, expected, max(standing(order).receivable, 0))
        sides += [credit(chart.RECEIVABLE, settled), credit(chart.CREDIT, payment.amount - settled)]
    else:
        settled = min(payment.amount, expected)
        sides += [*_on_account(order, settled), credit(chart.CREDIT, payment.amount - settled)]
    what = payment.request.kind if payment.request else "credit"
    post(
        who, f"payment {payment.provider} {payment.fact}", sides,
        text=f"{what.capitalize()} received, {payment.reference or payment.fact}", currency=payment.currency,
        today=today, now=now, document_date=payment.received_on, order_number=number,
    )  # fmt: skip
    if payment.fee:
        post(
            who, f"fee {payment.provider} {payment.fact}",
            [debit(chart.FEES, payment.fee), credit(chart.CLEARING, payment.fee)],
            text="Card processor's fee", currency=payment.currency,
            today=today, now=now, document_date=payment.received_on, order_number=number,
        )  # fmt: skip


def _on_account(order: Order, amount: int) -> list[Side]:
    """An amount paid before delivery: held, and its tax due where the owner books tax on receipt."""
    tax = share(amount, order.tax, order.gross) if taxed_on_receipt() else 0
    return [credit(chart.DEPOSITS, amount - tax), credit(chart.TAX, tax)]


def credit_applied(who: Who, order: Order, amount: int, *, today: date, now: datetime) -> JournalEntry:
    """The customer's credit is taken towards the invoice that is being issued."""
    return post(
        who, f"credit applied {order.number}", [debit(chart.CREDIT, amount), *_on_account(order, amount)],
        text="Credit taken towards the invoice", currency=order.currency,
        today=today, now=now, order_number=order.number,
    )  # fmt: skip


def was_built(order: Order) -> bool:
    """Whether the build's cost is booked already: an order taken back from ready is not booked twice."""
    return JournalEntry.objects.filter(source=f"build {order.number}").exists()


def built(
    who: Who, order: Order, *, materials: int, labour: int, today: date, now: datetime
) -> JournalEntry | None:
    """The propellers were built: material and labour at the quote's cost go into work in progress."""
    if materials + labour == 0:
        return None
    return post(
        who, f"build {order.number}",
        [
            debit(chart.WORK_IN_PROGRESS, materials + labour),
            credit(chart.MATERIALS, materials),
            credit(chart.ABSORBED, labour),
        ],
        text=f"Built, order {order.number}", currency=order.currency,
        today=today, now=now, order_number=order.number,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Invoiced:
    """Sums of invoice, debit notes and credit notes in minor units; `freight` and `discount` are parts of `net`."""

    net: int
    tax: int
    gross: int
    freight: int
    discount: int


def invoiced(order: Order) -> Invoiced:
    """What the order's invoice, debit notes and credit notes come to together."""
    net = tax = gross = freight = discount = 0
    for paper in order.invoices.all():
        sign = -1 if paper.type_code == Invoice.TypeCode.CREDIT_NOTE else 1
        net, tax, gross = net + sign * paper.net, tax + sign * paper.tax, gross + sign * paper.gross
        for line in paper.lines:
            freight += sign * line["net"] if line["category"] == "freight" else 0
            discount -= sign * line["net"] if line["category"] == "discount" else 0
    return Invoiced(net, tax, gross, freight, discount)


def delivered(who: Who, order: Order, invoice: Invoice, *, today: date, now: datetime) -> None:
    """Handed over: revenue and tax of what is invoiced, deposits taken off, cost out of work in progress.

    What was paid beyond what is invoiced is owed back.
    """
    due, before = invoiced(order), standing(order)
    over = max(before.on_account - due.gross, 0)
    revenue = [
        debit(chart.DISCOUNTS, due.discount),
        credit(chart.SALES, due.net - due.freight + due.discount),
        credit(chart.FREIGHT, due.freight),
    ]
    common: dict[str, Any] = {
        "currency": order.currency, "today": today, "now": now,
        "document_date": invoice.issued_on, "order_number": order.number,
    }  # fmt: skip
    if before.tax or taxed_on_receipt():
        sides = [
            debit(chart.RECEIVABLE, due.gross - before.on_account + over),
            debit(chart.DEPOSITS, before.held),
            *revenue,
            credit(chart.TAX, due.tax - before.tax),
            credit(chart.OWED, over),
        ]
        post(who, f"delivery {order.number}", sides, text=f"Delivered, invoice {invoice.number}", **common)
    else:
        sides = [debit(chart.RECEIVABLE, due.gross), *revenue, credit(chart.TAX, due.tax)]
        post(who, f"delivery {order.number}", sides, text=f"Delivered, invoice {invoice.number}", **common)
        if before.held:
            post(
                who, f"deposit applied {order.number}",
                [
                    debit(chart.DEPOSITS, before.held),
                    credit(chart.RECEIVABLE, before.held - over),
                    credit(chart.OWED, over),
                ],
                text=f"Deposit applied to invoice {invoice.number}", **common,
            )  # fmt: skip
    if before.work:
        post(
            who, f"cost {order.number}",
            [debit(chart.COST_OF_SALES, before.work), credit(chart.WORK_IN_PROGRESS, before.work)],
            text=f"Cost of order {order.number}", **common,
        )  # fmt: skip


def credited(who: Who, order: Order, note: Invoice, *, today: date, now: datetime) -> int:
    """A credit note was issued; the part of it that the customer had not paid yet, which is no more asked for.

    After delivery it lowers the sales; before, nothing of the invoice is in the books but what was paid on account.
    The rest is owed back.
    """
    before = standing(order)
    if order.state == Order.State.DISPATCHED:
        unpaid = min(note.gross, max(before.receivable, 0))
        back = note.gross - unpaid
        # tax is rounded paper by paper: what all papers together leave of a cent or two is no tax
        tax = before.tax if note.net == before.revenue else min(note.tax, before.tax)
        sides = [
            debit(chart.REFUNDS, note.net),
            debit(chart.TAX, tax),
            debit(chart.ROUNDING, note.tax - tax),
            credit(chart.RECEIVABLE, unpaid),
            credit(chart.OWED, back),
        ]
    else:
        back = min(note.gross, max(before.on_account - invoiced(order).gross, 0))
        unpaid = note.gross - back
        tax = share(back, before.tax, before.on_account)
        sides = [debit(chart.DEPOSITS, back - tax), debit(chart.TAX, tax), credit(chart.OWED, back)]
    if any(side.debit for side in sides):
        post(
            who, f"credit note {note.number}", sides,
            text=f"Credit note {note.number}", currency=order.currency,
            today=today, now=now, document_date=note.issued_on, order_number=order.number,
        )  # fmt: skip
    return unpaid


def refunded(
    who: Who, order: Order, payment: Payment, *, net: int, tax: int, today: date, now: datetime
) -> JournalEntry:
    """Money given back after delivery, with the tax on it."""
    return post(
        who, f"refund {payment.provider} {payment.fact}",
        [
            debit(chart.REFUNDS, net),
            debit(chart.TAX, tax),
            credit(money_account(payment.provider), net + tax),
        ],
        text=f"Refund on order {order.number}", currency=order.currency,
        today=today, now=now, document_date=payment.received_on, order_number=order.number,
    )  # fmt: skip


def paid_back(who: Who, order: Order, payment: Payment, *, today: date, now: datetime) -> JournalEntry:
    """What was owed back was paid back; beyond that it comes from the customer's credit."""
    amount = -payment.amount
    owed = min(amount, max(standing(order).owed, 0))
    return post(
        who, f"refund {payment.provider} {payment.fact}",
        [
            debit(chart.OWED, owed),
            debit(chart.CREDIT, amount - owed),
            credit(money_account(payment.provider), amount),
        ],
        text=f"Paid back on order {order.number}", currency=order.currency,
        today=today, now=now, document_date=payment.received_on, order_number=order.number,
    )  # fmt: skip


def cancelled(who: Who, order: Order, *, retained: int, today: date, now: datetime) -> None:
    """Cancelled before delivery: what the terms let the shop keep is income, all else that was paid is owed back.

    Tax booked with the deposit is taken back, on what is kept too: it is no price of a supply. A build already booked
    is written off.
    """
    before = standing(order)
    common: dict[str, Any] = {
        "currency": order.currency, "today": today, "now": now, "order_number": order.number,
    }  # fmt: skip
    if before.on_account or before.credit:
        post(
            who, f"cancellation {order.number}",
            [
                debit(chart.DEPOSITS, before.held),
                debit(chart.TAX, before.tax),
                debit(chart.CREDIT, before.credit),
                credit(chart.OWED, before.on_account + before.credit - retained),
                credit(chart.FORFEITED, retained),
            ],
            text=f"Order {order.number} cancelled", **common,
        )  # fmt: skip
    if before.work:
        post(
            who, f"write-off {order.number}",
            [debit(chart.COST_OF_SALES, before.work), credit(chart.WORK_IN_PROGRESS, before.work)],
            text=f"Build of the cancelled order {order.number} written off", **common,
        )  # fmt: skip
