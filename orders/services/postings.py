"""Which entry each step of an order makes. Deposits are a contract liability until the propeller is handed over.

Follows IFRS 15.105-109: money received before the transfer is a contract liability, revenue comes at the transfer.
The owner's choice `deposit_tax` says whether tax falls due at delivery or already on receipt (Directive 2006/112/EC,
article 65). Each function assumes the caller's transaction and posts under a source that names its fact.
"""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import F, Sum

from orders.models import Invoice, JournalEntry, JournalLine, Order, Payment, Workshop
from orders.services import chart
from orders.services.journal import credit, debit, post
from orders.who import Who
from quoting.pricing.money import round_half_up

BANK_PROVIDERS = frozenset({"bank"})


def money_account(provider: str) -> str:
    """Bank transfers are in the bank; card payments are with the processor until it pays out."""
    return chart.BANK if provider in BANK_PROVIDERS else chart.CLEARING


def tax_inside(order: Order, amount: int) -> int:
    """The tax contained in a gross amount of an order, in proportion, rounded half up."""
    return int(round_half_up(Decimal(amount) * order.tax / order.gross, 0)) if order.gross else 0


def tax_on_net(order: Order, net: int) -> int:
    """The tax on a net amount of an order, in proportion, rounded half up; as invoiced where an invoice is out."""
    billed = order.invoices.filter(type_code=Invoice.TypeCode.INVOICE).first()
    if billed is not None and billed.net:
        return int(round_half_up(Decimal(net) * billed.tax / billed.net, 0))
    return int(round_half_up(Decimal(net) * order.tax / order.net, 0)) if order.net else 0


def taxed_on_receipt() -> bool:
    return Workshop.objects.get().deposit_tax == Workshop.DepositTax.ON_RECEIPT


def balance(account: str, *, order_number: str = "") -> int:
    """Debits less credits of an account, of one order or of all, posted entries only."""
    lines = JournalLine.objects.filter(account__code=account, entry__posted=True)
    if order_number:
        lines = lines.filter(entry__order_number=order_number)
    return lines.aggregate(sum=Sum(F("debit") - F("credit")))["sum"] or 0


def received(who: Who, payment: Payment, expected: int, *, today: date, now: datetime) -> None:
    """Money came in: up to `expected` it settles what was asked, anything beyond is the customer's credit."""
    order = payment.order
    number = order.number if order else ""
    settled = min(payment.amount, expected) if order else 0
    sides = [
        debit(money_account(payment.provider), payment.amount),
        credit(chart.CREDIT, payment.amount - settled),
    ]
    if order and order.state == Order.State.DISPATCHED:
        sides.insert(1, credit(chart.RECEIVABLE, settled))
    elif order:
        tax = tax_inside(order, settled) if taxed_on_receipt() else 0
        sides[1:1] = [credit(chart.DEPOSITS, settled - tax), credit(chart.TAX, tax)]
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


def paid_out(
    who: Who, amount: int, currency: str, reference: str, *, today: date, now: datetime
) -> JournalEntry:
    """The card processor paid out to the bank."""
    return post(
        who, f"payout {reference}", [debit(chart.BANK, amount), credit(chart.CLEARING, amount)],
        text=f"Payout {reference}", currency=currency, today=today, now=now,
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


def delivered(who: Who, order: Order, invoice: Invoice, *, today: date, now: datetime) -> None:
    """Handed over: revenue and tax of the invoice and its debit notes, deposits taken off, cost out of work in progress."""
    billed = [invoice, *order.invoices.filter(type_code=Invoice.TypeCode.DEBIT_NOTE)]
    net, tax, gross = (sum(getattr(i, name) for i in billed) for name in ("net", "tax", "gross"))
    freight = sum(line["net"] for line in invoice.lines if line["category"] == "freight")
    discount = -sum(line["net"] for line in invoice.lines if line["category"] == "discount")
    held = -balance(chart.DEPOSITS, order_number=order.number)
    taxed = -balance(chart.TAX, order_number=order.number)
    revenue = [
        debit(chart.DISCOUNTS, discount),
        credit(chart.SALES, net - freight + discount),
        credit(chart.FREIGHT, freight),
    ]
    common: dict[str, Any] = {
        "currency": order.currency, "today": today, "now": now,
        "document_date": invoice.issued_on, "order_number": order.number,
    }  # fmt: skip
    if taxed_on_receipt():
        sides = [
            debit(chart.RECEIVABLE, gross - held - taxed),
            debit(chart.DEPOSITS, held),
            *revenue,
            credit(chart.TAX, tax - taxed),
        ]
        post(who, f"delivery {order.number}", sides, text=f"Delivered, invoice {invoice.number}", **common)
    else:
        sides = [debit(chart.RECEIVABLE, gross), *revenue, credit(chart.TAX, tax)]
        post(who, f"delivery {order.number}", sides, text=f"Delivered, invoice {invoice.number}", **common)
        if held:
            post(
                who, f"deposit applied {order.number}",
                [debit(chart.DEPOSITS, held), credit(chart.RECEIVABLE, held)],
                text=f"Deposit applied to invoice {invoice.number}", **common,
            )  # fmt: skip
    cost = balance(chart.WORK_IN_PROGRESS, order_number=order.number)
    if cost:
        post(
            who, f"cost {order.number}",
            [debit(chart.COST_OF_SALES, cost), credit(chart.WORK_IN_PROGRESS, cost)],
            text=f"Cost of order {order.number}", **common,
        )  # fmt: skip


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


def cancelled(
    who: Who, order: Order, *, retained: int, provider: str, today: date, now: datetime
) -> JournalEntry | None:
    """Cancelled before delivery: what the terms let the shop keep is income, the rest goes back."""
    held = -balance(chart.DEPOSITS, order_number=order.number)
    taxed = -balance(chart.TAX, order_number=order.number) if taxed_on_receipt() else 0
    if not held:
        return None
    return post(
        who, f"cancellation {order.number}",
        [
            debit(chart.DEPOSITS, held),
            debit(chart.TAX, taxed),
            credit(money_account(provider), held + taxed - retained),
            credit(chart.FORFEITED, retained),
        ],
        text=f"Order {order.number} cancelled", currency=order.currency,
        today=today, now=now, order_number=order.number,
    )  # fmt: skip


def tax_remitted(
    who: Who, amount: int, currency: str, reference: str, *, today: date, now: datetime
) -> JournalEntry:
    """Tax paid to the authority."""
    return post(
        who, f"tax {reference}", [debit(chart.TAX, amount), credit(chart.BANK, amount)],
        text=f"Tax remitted, {reference}", currency=currency, today=today, now=now,
    )  # fmt: skip
