"""Credit notes: whole lines of an invoice or debit note credited, and the books and what is asked brought in line."""

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from orders.models import Invoice, Order, PaymentRequest
from orders.refusal import Refused
from orders.services import letters, postings
from orders.services.invoice import Totals, issue, totals
from orders.services.owed import back_of
from orders.services.steps import locked
from orders.who import BOOKKEEPER, OWNER, Who

T = Invoice.TypeCode
LONGEST_REASON = 500


def uncredited(invoice: Invoice) -> list[dict[str, Any]]:
    """Lines of an invoice or debit note that no credit note has taken back; none of a credit note."""
    if invoice.type_code == T.CREDIT_NOTE:
        return []
    credited = {line["key"] for note in invoice.corrections.all() for line in note.lines}
    return [line for line in invoice.lines if line["key"] not in credited]


@transaction.atomic
def credit_note(
    who: Who, invoice: Invoice, keys: Iterable[str], *, reason: str, today: date, now: datetime
) -> Invoice:
    """Credit whole lines of an invoice by their keys: type 381, positive amounts, naming the invoice it corrects.

    What the customer had not paid of it is no more asked for; what they had is owed back.
    """
    who.must_be(OWNER, BOOKKEEPER)
    reason = reason.strip()
    if not reason or len(reason) > LONGEST_REASON:
        text = _("Say why in up to %(most)d characters; it stands on the credit note.")
        raise Refused("reason", text % {"most": LONGEST_REASON}, status=400, field="reason")
    order = locked(invoice.order)
    if order.state == Order.State.CANCELLED:
        raise Refused("wrong-state", _("The order is cancelled; its invoice was credited with it."))
    wanted = set(keys)
    lines = [line for line in uncredited(invoice) if line["key"] in wanted]
    if not lines or len(lines) != len(wanted):
        text = _("Choose lines of this invoice that are not credited yet.")
        raise Refused("lines", text, status=400, field="lines")
    sums = _sums(invoice, lines)
    if sums.gross <= 0:
        text = _("These lines come to nothing or less; choose what a discount was given on as well.")
        raise Refused("lines", text, status=400, field="lines")
    if order.state == Order.State.DISPATCHED:
        _within_sale(order, sums)
    note = _note(who, invoice, lines, sums, reason, today=today, now=now)
    _ask_less(order, postings.credited(who, order, note, today=today, now=now))
    letters.credited(note, reason, now=now)
    return note


def credit_all(who: Who, order: Order, *, reason: str, today: date, now: datetime) -> None:
    """Credit whatever is invoiced of an order that is cancelled; nothing of it is in the books before delivery.

    Assumes the caller's transaction and lock.
    """
    for invoice in order.invoices.exclude(type_code=T.CREDIT_NOTE).order_by("id"):
        lines = uncredited(invoice)
        if lines:
            _note(who, invoice, lines, _sums(invoice, lines), reason, today=today, now=now)


def _sums(invoice: Invoice, lines: list[dict[str, Any]]) -> Totals:
    percents = {row["code"]: (row["label"], Decimal(row["percent"])) for row in invoice.taxes}
    return totals(lines, percents, prepaid=0)


def _note(
    who: Who,
    invoice: Invoice,
    lines: list[dict[str, Any]],
    sums: Totals,
    reason: str,
    *,
    today: date,
    now: datetime,
) -> Invoice:
    return issue(
        who, invoice.order, T.CREDIT_NOTE, lines, sums, today=today, now=now, corrects=invoice, reason=reason
    )


def _within_sale(order: Order, sums: Totals) -> None:
    """Raise Refused where refunds so far leave less of the sale, or of its tax, than these lines come to."""
    back = back_of(order)
    rounding = sum(len(paper.lines) for paper in order.invoices.all())  # half a minor unit each, if that
    if sums.net > back.net or sums.tax > back.tax + rounding:
        text = _("Refunds so far leave less of the sale than these lines; refund what is left instead.")
        raise Refused("lines", text, status=400, field="lines")


def _ask_less(order: Order, amount: int) -> None:
    """Lower what is asked and open by an amount, the balance first."""
    K = PaymentRequest.Kind
    by_kind = {request.kind: request for request in order.payment_requests.all()}
    for kind in (K.BALANCE, K.STORAGE, K.DEPOSIT):
        request = by_kind.get(kind)
        less = min(request.open, amount) if request else 0
        if request and less:
            PaymentRequest.objects.filter(pk=request.pk).update(amount=F("amount") - less)
            amount -= less
