"""Money that goes back on an order, and the carrier's bill for it, each from a form on the order's page."""

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.money_forms import (
    CarriageForm,
    PayBackByBankForm,
    PayBackByCardForm,
    RefundByBankForm,
    RefundByCardForm,
)
from orders.desk.order_steps import sent, the_order
from orders.desk.roles import open_to
from orders.services import bookings, refund
from orders.services.owed import back_of
from quoting.pricing.money import Money


@require_POST
@open_to("bookkeeper")
def pay_back_by_bank(request: HttpRequest, number: str) -> HttpResponse:
    """Record a transfer that paid back what was owed."""
    row = the_order(number)
    form = PayBackByBankForm(request.POST, back=back_of(row), currency=row.currency)
    return sent(
        request, row, "pay_back_bank", form,
        lambda who, row, given: refund.pay_back_by_bank(
            who, row, given["amount"].minor, bank_reference=given["bank_reference"],
            paid_on=given["paid_on"], today=timezone.localdate(), now=timezone.now(),
        ),
        _("It is in the books, and the customer is told."),
    )  # fmt: skip


@require_POST
@open_to("bookkeeper")
def pay_back_by_card(request: HttpRequest, number: str) -> HttpResponse:
    """Have the card provider pay back what is owed."""
    row = the_order(number)
    return sent(
        request, row, "pay_back_card",
        PayBackByCardForm(request.POST, back=back_of(row), currency=row.currency),
        lambda who, row, given: refund.pay_back_by_card(who, row, given["amount"].minor, now=timezone.now()),
        _("The card provider is asked; it is booked with its answer."),
    )  # fmt: skip


@require_POST
@open_to("bookkeeper")
def refund_by_bank(request: HttpRequest, number: str) -> HttpResponse:
    """Record a transfer that refunded part of a sale."""
    row = the_order(number)
    return sent(
        request, row, "refund_bank", RefundByBankForm(request.POST, back=back_of(row), currency=row.currency),
        lambda who, row, given: refund.refund_by_bank(
            who, row, given["net"].minor, bank_reference=given["bank_reference"], reason=given["reason"],
            paid_on=given["paid_on"], today=timezone.localdate(), now=timezone.now(),
        ),
        _("It is in the books, and the customer is told."),
    )  # fmt: skip


@require_POST
@open_to("bookkeeper")
def refund_by_card(request: HttpRequest, number: str) -> HttpResponse:
    """Have the card provider refund part of a sale."""
    row = the_order(number)
    return sent(
        request, row, "refund_card", RefundByCardForm(request.POST, back=back_of(row), currency=row.currency),
        lambda who, row, given: refund.refund_by_card(
            who, row, given["net"].minor, reason=given["reason"], now=timezone.now()
        ),
        _("The card provider is asked; it is booked with its answer."),
    )  # fmt: skip


@require_POST
@open_to("bookkeeper")
def carriage(request: HttpRequest, number: str) -> HttpResponse:
    """Book a carrier's bill that was paid."""
    row = the_order(number)
    return sent(
        request, row, "carriage", CarriageForm(request.POST, currency=row.currency),
        lambda who, row, given: bookings.record_carriage(
            who, row, given["net"], given["tax"] or Money.from_minor(0, row.currency), reference=given["reference"],
            paid_on=given["paid_on"], today=timezone.localdate(), now=timezone.now(),
        ),
        _("The bill is in the books; the difference to the estimate is shown."),
    )  # fmt: skip
