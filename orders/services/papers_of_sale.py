"""What stands on a quote and an invoice, gathered from their rows in words and units to be printed."""

from decimal import Decimal
from typing import Any

from django.utils import formats, timezone

from orders.links import order_link, quote_link
from orders.models import AuditRecord, Invoice, PaymentRequest, Workshop
from orders.services.accepted import title_of
from orders.services.pictures import drawing, forecast_picture, propeller_summary
from orders.terms import clauses
from quoting.models import Quote
from quoting.pricing.lines import Category, Line
from quoting.pricing.money import Money
from quoting.pricing.summary import LABELS, SummaryLine, group_of, summary
from quoting.propeller.specification import Use
from quoting.services.pricebook import book_behind
from quoting.services.quotes import Results, results_of, specification_of

CURRENCY_WORDS = {
    "EUR": "Euro",
    "USD": "US dollars",
    "GBP": "Pounds sterling",
    "CHF": "Swiss francs",
    "CAD": "Canadian dollars",
    "AUD": "Australian dollars",
    "JPY": "Japanese yen",
}


def seller() -> dict[str, Any]:
    """Who issues the paper."""
    shop = Workshop.objects.get()
    place = f"{shop.postcode} {shop.city}".strip()
    return {
        "name": shop.name,
        "address": [line for line in (shop.street, place, shop.country) if line],
        "email": shop.email,
        "phone": shop.phone,
        "tax_number": shop.tax_id,
    }


def party(address: dict[str, str]) -> dict[str, Any]:
    """Who it is for, as typed with the enquiry."""
    place = f"{address.get('postcode', '')} {address.get('city', '')}".strip()
    lines = (address.get("street", ""), place, address.get("region", ""), address.get("country", ""))
    return {
        "name": address.get("name", ""),
        "address": [line for line in lines if line],
        **({"tax_number": address["tax_id"]} if address.get("tax_id") else {}),
    }


ASKED_WITH: dict[str, str] = {
    Invoice.TypeCode.INVOICE: PaymentRequest.Kind.BALANCE,
    Invoice.TypeCode.DEBIT_NOTE: PaymentRequest.Kind.STORAGE,
}
"""What is asked for with each kind of paper."""


def plain(minor: int, currency: str) -> str:
    return str(Money.from_minor(minor, currency).amount)


def quantity_words(quantity: Decimal | str, unit: str) -> str:
    return f"{Decimal(quantity).normalize():f} {unit}".strip()


def quote_paper(quote: Quote) -> dict[str, Any]:
    """The data of a quote's paper; the same quote always gives the same data."""
    results, specification = results_of(quote), specification_of(quote)
    assert quote.issued_at and quote.expires_at
    enquiry = quote.series.enquiry
    return {
        "shop": seller(),
        "number": quote.series.number,
        "revision": str(quote.revision),
        "date": timezone.localdate(quote.issued_at).isoformat(),
        # the paper says what it was when made: offered
        "state": "sent",
        "propeller": title_of(specification, results.measures),
        "display_only": specification.use is Use.DISPLAY,
        "customer": party(enquiry.address),
        "valid_until": timezone.localdate(quote.expires_at).isoformat(),
        "drawing": drawing(specification, results.measures),
        "summary": propeller_summary(specification, results.measures),
        "currency": quote.currency,
        "currency_words": CURRENCY_WORDS.get(quote.currency, quote.currency),
        "lines": [_price_line(line) for line in results.price.lines],
        "price_summary": [_summary_line(row) for row in summary(results.price)],
        "net": str(quote.net.amount),
        "taxes": [
            {
                "label": f"{row.label} {row.percent.normalize():f} %",
                "base": str(row.base.amount),
                "tax": str(row.tax.amount),
            }
            for row in results.price.taxes
        ],
        "gross": str(quote.gross.amount),
        "deposit": str(quote.deposit.amount),
        "balance": str(quote.balance.amount),
        "findings": [
            {"severity": f.severity.value, "message": f.message, "source": f.source} for f in results.findings
        ],
        "accept": {
            "url": quote_link(quote),
            "until": timezone.localdate(quote.expires_at).isoformat(),
        },
        "terms": [
            {"heading": heading, "text": text} for heading, text in clauses(book_behind(quote.price_book))
        ],
        "basis": _basis(quote, results),
        **_forecast(quote, results),
    }


def _summary_line(row: SummaryLine) -> dict[str, Any]:
    return {
        "label": row.label[:1].upper() + row.label[1:],
        "quantity": "" if row.quantity is None else quantity_words(row.quantity, row.unit),
        "net": str(row.amount.amount),
    }


def _basis(quote: Quote, results: Results) -> str:
    """What the quote was worked with, and the seal that acceptance is bound to."""
    words = {
        "price book": results.price_book,
        "propeller model": results.model_version,
        "pricing formulas": results.pricing_version,
        "plan": quote.plan_version[:12],
        "terms": quote.terms_version,
    }
    named = ", ".join(f"{name} {value}" for name, value in words.items() if value)
    return f"Worked with {named}. Seal of this revision: {quote.content_hash[:16]}."


def _price_line(line: Line) -> dict[str, Any]:
    return {
        "label": line.label[:1].upper() + line.label[1:],
        "quantity": quantity_words(line.quantity, line.unit),
        "net": str(line.net.amount),
        **({"note": line.reason} if line.reason else {}),
    }


def _forecast(quote: Quote, results: Results) -> dict[str, Any]:
    f = results.forecast
    if f is None:
        return {}
    as_read = {
        name: formats.date_format(getattr(f, name), "j F Y")
        for name in ("likely_by", "plan_on", "nineteen_in_twenty", "counts_on")
    }
    promise = {"promise": formats.date_format(quote.promised_for, "j F Y")} if quote.promised_for else {}
    picture = forecast_picture(f, results.as_of, quote.promised_for)
    return {"forecast": {**as_read, **promise, "ahead": f.ahead, "waits_on": list(f.waits_on), **picture}}


def grouped_lines(lines: list[dict[str, Any]], currency: str) -> list[dict[str, str]]:
    """An invoice's lines in the groups the customer was quoted, in words, one row a group and tax; charges stand alone.

    Rows sum exactly to the lines.
    """
    groups: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for line in lines:
        alone = line["key"].startswith("charge.")
        group = line["key"] if alone else group_of(Category(line["category"]), line["key"])
        groups.setdefault((group, line["tax_code"]), []).append(line)
    order = {group: place for place, group in enumerate(LABELS)}
    ranked = sorted(groups.items(), key=lambda row: order.get(row[0][0], len(order)))
    return [_grouped_line(group, rows, currency) for (group, _tax), rows in ranked]


def _grouped_line(group: str, lines: list[dict[str, Any]], currency: str) -> dict[str, str]:
    label, quantity = LABELS.get(group, lines[0]["label"]), ""
    if group == "timber":
        label = f"timber: {lines[0]['label']}"
        quantity = quantity_words(sum((Decimal(n["quantity"]) for n in lines), Decimal(0)), lines[0]["unit"])
    elif group == "work":
        hours = [Decimal(n["quantity"]) for n in lines if n["category"] == Category.LABOUR.value]
        quantity = quantity_words(sum(hours, Decimal(0)), "h") if hours else ""
    return {
        "label": label[:1].upper() + label[1:],
        "quantity": quantity,
        "net": plain(sum(n["net"] for n in lines), currency),
    }


def invoice_paper(invoice: Invoice) -> dict[str, Any]:
    """The data of an invoice's, debit note's or credit note's paper, from its own snapshot."""
    order, credits = invoice.order, invoice.type_code == Invoice.TypeCode.CREDIT_NOTE
    request = order.payment_requests.filter(kind=ASKED_WITH.get(invoice.type_code, "")).first()
    return {
        "shop": seller(),
        "number": invoice.number,
        "revision": "1",
        "date": invoice.issued_on.isoformat(),
        "state": "issued",
        "propeller": order.title,
        "display_only": order.display_only,
        "title": invoice.get_type_code_display().capitalize(),
        "customer": party(invoice.buyer),
        "order": order.number,
        "supply_date": invoice.issued_on.isoformat(),
        "due_date": invoice.due_on.isoformat(),
        "currency": invoice.currency,
        "currency_words": CURRENCY_WORDS.get(invoice.currency, invoice.currency),
        "lines": grouped_lines(invoice.lines, invoice.currency),
        "net": plain(invoice.net, invoice.currency),
        "taxes": [
            {
                "label": f"{row['label']} {Decimal(row['percent']).normalize():f} %",
                "base": plain(row["base"], invoice.currency),
                "tax": plain(row["tax"], invoice.currency),
            }
            for row in invoice.taxes
        ],
        "gross": plain(invoice.gross, invoice.currency),
        "paid": _counted(invoice),
        "due": plain(invoice.due, invoice.currency),
        "credits": credits,
        "how_to_pay": []
        if credits
        else [
            {"label": "Account", "value": " ".join(invoice.seller.get("bank_details", "").split())},
            {"label": "Reference", "value": request.reference if request else order.number},
        ],
        **({} if credits else {"pay_url": order_link(order)}),
        "notes": _correction(invoice, invoice.corrects) if invoice.corrects else [],
    }


def _counted(invoice: Invoice) -> list[dict[str, Any]]:
    """What was paid towards an invoice, row by row to the sum it counts as prepaid; money that went back with a minus."""
    if not invoice.prepaid:
        return []
    paid = invoice.order.payments.filter(recorded_at__lte=invoice.created_at).select_related("request")
    rows = [
        {
            "date": payment.received_on.isoformat(),
            "words": f"{payment.request.kind if payment.request else 'credit'}, {payment.provider}",
            "amount": plain(payment.amount, payment.currency),
        }
        for payment in paid.order_by("id")
    ]
    beyond = sum(payment.amount for payment in paid) - invoice.prepaid
    if beyond:
        amount = plain(-beyond, invoice.currency)
        rows.append({"date": invoice.issued_on.isoformat(), "words": "stays your credit", "amount": amount})
    return rows


def _correction(note: Invoice, corrected: Invoice) -> list[str]:
    """What a credit note corrects, and why as it was written when it was issued."""
    why = AuditRecord.objects.filter(verb="issue", subject=f"invoice {note.number}").first()
    reason = [f"Reason: {why.reason}"] if why and why.reason else []
    return [
        f"Corrects invoice {corrected.number} of {corrected.issued_on.isoformat()}.",
        *reason,
        "What was paid of it is paid back, or counts towards what is still open on the order.",
    ]
