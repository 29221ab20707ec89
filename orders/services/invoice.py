"""Invoices: EN 16931 arithmetic over the accepted quote's lines, numbered without gaps, deposit taken off.

Line nets sum to BT-106; discounts and charges are lines of their own here, so BT-109 is the same sum; tax is computed per
rate on the sum of its bases (BR-CO-17, rounded half up); BT-112 = BT-109 + BT-110; BT-115 = BT-112 - BT-113.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import F

from orders.models import Charge, Invoice, Order, PaymentRequest, Workshop
from orders.refusal import Refused
from orders.services import audit, documents, letters, postings
from orders.services.accepted import invoice_lines, results, tax_percents
from orders.services.owed import back_of
from orders.services.payment import ask_for
from orders.services.steps import locked
from orders.who import BOOKKEEPER, OWNER, Who
from quoting.pricing.lines import Category
from quoting.pricing.money import Money, round_half_up
from quoting.pricing.refusal import Refused as PriceRefused
from quoting.pricing.tax import rates_for
from quoting.services.numbering import take_number
from quoting.services.pricebook import tax_rows
from quoting.services.serial import digest

T = Invoice.TypeCode


@dataclass(frozen=True, slots=True)
class Totals:
    """EN 16931 document totals in minor units; `taxes` is the breakdown per rate (BG-23)."""

    net: int
    tax: int
    gross: int
    prepaid: int
    due: int
    taxes: tuple[dict[str, Any], ...]


def totals(
    lines: Iterable[dict[str, Any]], percents: dict[str, tuple[str, Decimal]], *, prepaid: int
) -> Totals:
    """Totals of lines {"net": minor units, "tax_code": code}; `percents` gives (label, percent) by code.

    BR-CO-17 on the sum per rate, not on lines. KeyError for a code without a rate.
    """
    bases: dict[str, int] = {}
    for line in lines:
        bases[line["tax_code"]] = bases.get(line["tax_code"], 0) + line["net"]
    taxes: tuple[dict[str, Any], ...] = tuple(
        {
            "code": code,
            "label": percents[code][0],
            "percent": str(percents[code][1]),
            "base": base,
            "tax": int(round_half_up(base * percents[code][1] / 100, 0)),
        }
        for code, base in sorted(bases.items())
    )
    net, tax = sum(bases.values()), sum(row["tax"] for row in taxes)
    return Totals(net, tax, net + tax, prepaid, net + tax - prepaid, taxes)


@transaction.atomic
def issue_invoice(who: Who, order: Order, *, today: date, now: datetime) -> Invoice:
    """Issue the invoice of a ready order and ask for the balance; the customer's credit is taken towards it."""
    who.must_be(OWNER, BOOKKEEPER)
    order = locked(order)
    if order.state != Order.State.READY:
        raise Refused(
            "wrong-state", f"Order {order.number} is {order.state}; an invoice follows the release."
        )
    if order.invoices.filter(type_code=T.INVOICE).exists():
        raise Refused("invoiced", f"Order {order.number} has its invoice.")
    accepted_lines, percents = taxed_lines(order, today)
    if sum(line["net"] for line in accepted_lines) != order.net:
        raise AssertionError(f"the invoice of {order.number} does not sum to the accepted quote")
    charges = list(order.charges.filter(invoice=None))
    lines = accepted_lines + [charge_line(charge, percents) for charge in charges]
    sums = totals(lines, percents, prepaid=0)
    before, free = postings.standing(order), back_of(order).credit
    prepaid = min(before.on_account + free, sums.gross)
    sums = replace(sums, prepaid=prepaid, due=sums.gross - prepaid)
    accepted_tax = totals(accepted_lines, percents, prepaid=0).tax
    reason = "" if accepted_tax == order.tax else "the tax rate of the invoice's day is not that of the quote"
    invoice = issue(who, order, T.INVOICE, lines, sums, today=today, now=now, reason=reason)
    order.charges.filter(pk__in=[c.pk for c in charges]).update(invoice=invoice)
    if prepaid > before.on_account:
        postings.credit_applied(who, order, prepaid - before.on_account, today=today, now=now)
    ask_for(
        order, PaymentRequest.Kind.BALANCE, invoice.due,
        days=Workshop.objects.get().payment_days, today=today, now=now,
    )  # fmt: skip
    letters.invoice_issued(invoice, now=now)
    return invoice


def taxed_lines(order: Order, today: date) -> tuple[list[dict[str, Any]], dict[str, tuple[str, Decimal]]]:
    """The accepted lines with the tax codes that hold today at the destination, and label and percent by code.

    A code that still holds is kept, with the percent of today; others take the code of their category. Quotes stored
    without terms keep what was accepted. Raises Refused where the tax table has no rate for the day.
    """
    lines, terms = invoice_lines(order), results(order).terms
    if terms is None:
        return lines, tax_percents(order)
    try:
        rates = rates_for(tax_rows(), terms.country, today)
    except PriceRefused as refused:
        raise Refused("tax-table", refused.finding.message) from refused
    percents = {row.code: (row.label, row.percent) for row in rates.rows}
    for line in lines:
        if line["tax_code"] not in percents:
            line["tax_code"] = rates.row(Category(line["category"])).code
    return lines, percents


def charge_line(charge: Charge, percents: dict[str, tuple[str, Decimal]]) -> dict[str, Any]:
    """A charge as a line of an invoice, taxed like the order's work."""
    order = charge.order
    codes = [n.tax_code for n in results(order).price.lines if n.category is Category.SHOP]
    code = next((c for c in codes if c in percents), next(iter(percents)))
    rate = Money.from_minor(charge.net, order.currency).amount
    return {
        "key": f"charge.{charge.pk}",
        "category": Category.SHOP.value,
        "label": f"{charge.get_kind_display()}: {charge.reason}",
        "quantity": "1",
        "unit": "lump",
        "rate": str(rate),
        "net": charge.net,
        "tax_code": code,
    }


def debit_note(who: Who, order: Order, charge: Charge, *, today: date, now: datetime) -> Invoice:
    """Bill a charge that came up after the invoice, and ask for it; assumes the caller's transaction and lock."""
    _, percents = taxed_lines(order, today)
    lines = [charge_line(charge, percents)]
    used = {code: percents[code] for code in (lines[0]["tax_code"],)}
    note = issue(who, order, T.DEBIT_NOTE, lines, totals(lines, used, prepaid=0), today=today, now=now)
    order.charges.filter(pk=charge.pk).update(invoice=note)
    asked = order.payment_requests.filter(kind=PaymentRequest.Kind.STORAGE).first()
    if asked is None:
        days = Workshop.objects.get().payment_days
        ask_for(order, PaymentRequest.Kind.STORAGE, note.due, days=days, today=today, now=now)
    else:
        PaymentRequest.objects.filter(pk=asked.pk).update(amount=F("amount") + note.due)
    return note


def issue(
    who: Who,
    order: Order,
    type_code: str,
    lines: list[dict[str, Any]],
    sums: Totals,
    *,
    today: date,
    now: datetime,
    corrects: Invoice | None = None,
    reason: str = "",
) -> Invoice:
    """Number and keep one paper with its own snapshot, and have it printed; assumes the caller's transaction and lock."""
    workshop = Workshop.objects.get()
    seller = {
        field: getattr(workshop, field)
        for field in (
            "name",
            "street",
            "postcode",
            "city",
            "country",
            "tax_id",
            "bank_details",
            "email",
            "phone",
        )
    }
    content = {
        "type_code": type_code,
        "issued_on": today.isoformat(),
        "due_on": (today + timedelta(days=workshop.payment_days)).isoformat(),
        "currency": order.currency,
        "seller": seller,
        "buyer": order.address,
        "lines": lines,
        "taxes": list(sums.taxes),
        "net": sums.net,
        "tax": sums.tax,
        "gross": sums.gross,
        "prepaid": sums.prepaid,
        "due": sums.due,
    }
    letter = {T.CREDIT_NOTE: "C", T.DEBIT_NOTE: "D"}.get(type_code, "I")  # type: ignore[call-overload]
    number = f"{letter}-{today.year}-{take_number(f'{type_code} {today.year}'):04d}"
    invoice = Invoice.objects.create(
        **content, number=number, order=order, corrects=corrects,
        content_hash=digest({**content, "number": number}), created_at=now,
    )  # fmt: skip
    invoice.refresh_from_db()
    audit.record(who, "issue", f"invoice {number}", now=now, reason=reason, detail={"order": order.number})
    documents.ask_for("invoice", order, invoice=invoice, now=now)
    return invoice
