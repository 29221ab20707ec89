"""Invoices: EN 16931 arithmetic over the accepted quote's lines, numbered without gaps, deposit taken off.

Line nets sum to BT-106; discounts and charges are lines of their own here, so BT-109 is the same sum; tax is computed per
rate on the sum of its bases (BR-CO-17, rounded half up); BT-112 = BT-109 + BT-110; BT-115 = BT-112 - BT-113.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import Sum

from orders.models import Invoice, Order, PaymentRequest, Workshop
from orders.refusal import Refused
from orders.services import audit, documents, letters
from orders.services.accepted import invoice_lines, tax_percents
from orders.services.payment import ask_for
from orders.services.steps import locked
from orders.who import BOOKKEEPER, OWNER, Who
from quoting.pricing.money import round_half_up
from quoting.services.numbering import take_number
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
    """Issue the invoice of a ready order and ask for the balance."""
    who.must_be(OWNER, BOOKKEEPER)
    order = locked(order)
    if order.state != Order.State.READY:
        raise Refused(
            "wrong-state", f"Order {order.number} is {order.state}; an invoice follows the release."
        )
    if order.invoices.filter(type_code=T.INVOICE).exists():
        raise Refused("invoiced", f"Order {order.number} has its invoice.")
    prepaid = order.payments.filter(request__isnull=False).aggregate(sum=Sum("amount"))["sum"] or 0
    lines = invoice_lines(order)
    sums = totals(lines, tax_percents(order), prepaid=min(prepaid, order.gross))
    if (sums.net, sums.tax) != (order.net, order.tax):
        raise AssertionError(f"the invoice of {order.number} does not sum to the accepted quote")
    invoice = _issue(who, order, T.INVOICE, lines, sums, today=today, now=now)
    ask_for(
        order, PaymentRequest.Kind.BALANCE, invoice.due,
        days=Workshop.objects.get().payment_days, today=today, now=now,
    )  # fmt: skip
    letters.invoice_issued(invoice, now=now)
    return invoice


@transaction.atomic
def credit_note(
    who: Who, invoice: Invoice, keys: Iterable[str], *, reason: str, today: date, now: datetime
) -> Invoice:
    """Credit whole lines of an invoice by their keys: type 381, positive amounts, naming the invoice it corrects."""
    who.must_be(OWNER, BOOKKEEPER)
    if not reason.strip():
        raise Refused("reason-missing", "Say why it is credited.", status=400, field="reason")
    wanted = set(keys)
    lines = [line for line in invoice.lines if line["key"] in wanted]
    if not lines or len(lines) != len(wanted):
        raise Refused("lines", "Choose lines of this very invoice.", status=400, field="lines")
    credited = {line["key"] for note in invoice.corrections.all() for line in note.lines}
    if credited & wanted:
        raise Refused("credited", "One of these lines is credited already.", field="lines")
    percents = {row["code"]: (row["label"], Decimal(row["percent"])) for row in invoice.taxes}
    sums = totals(lines, percents, prepaid=0)
    return _issue(
        who, invoice.order, T.CREDIT_NOTE, lines, sums, today=today, now=now, corrects=invoice, reason=reason
    )


def _issue(
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
    letter = {T.CREDIT_NOTE: "C"}.get(type_code, "I")  # type: ignore[call-overload]
    number = f"{letter}-{today.year}-{take_number(f'{type_code} {today.year}'):04d}"
    invoice = Invoice.objects.create(
        **content, number=number, order=order, corrects=corrects,
        content_hash=digest({**content, "number": number}), created_at=now,
    )  # fmt: skip
    invoice.refresh_from_db()
    audit.record(who, "issue", f"invoice {number}", now=now, reason=reason, detail={"order": order.number})
    documents.ask_for("invoice", order, invoice=invoice, now=now)
    return invoice
