"""One issued paper of the books: its lines, the credit notes on it, and the door to credit lines of it."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.doing import submitted
from orders.desk.money_forms import CreditForm
from orders.desk.roles import open_to
from orders.models import Document, Invoice, Order
from orders.services import crediting
from orders.who import somebody


def the_invoice(number: str) -> Invoice:
    return get_object_or_404(Invoice.objects.select_related("order__customer", "corrects"), number=number)


@open_to("bookkeeper")
def invoice(request: HttpRequest, number: str) -> HttpResponse:
    """One invoice, debit note or credit note."""
    return invoice_page(request, the_invoice(number))


def invoice_page(request: HttpRequest, row: Invoice, *, status: int = 200, **given: Any) -> HttpResponse:
    """The page with a fresh form, or the one given back with what was typed and its errors."""
    may_credit = row.order.state != Order.State.CANCELLED and crediting.uncredited(row)
    context = {
        "invoice": row,
        "notes": row.corrections.order_by("id"),
        "paper": Document.objects.filter(invoice=row).first(),
        "credit": CreditForm(invoice=row) if may_credit else None,
        "now": timezone.now(),
    }
    return render(request, "desk/invoice.html", context | given, status=status)


@require_POST
@open_to("bookkeeper")
def credit(request: HttpRequest, number: str) -> HttpResponse:
    """Credit lines of an invoice."""
    row = the_invoice(number)
    return submitted(
        request,
        CreditForm(request.POST, invoice=row),
        lambda given: crediting.credit_note(
            somebody(request.user), row, given["lines"], reason=given["reason"], today=timezone.localdate(),
            now=timezone.now(),
        ),
        _("The credit note is issued and the customer is told; its paper is being made."),
        lambda form: invoice_page(request, row, status=422, credit=form),
        "desk:invoice-page",
        number,
    )  # fmt: skip
