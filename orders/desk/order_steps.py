"""What is done with an order from its page: each form comes back with all that was typed where it is refused."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.doing import do, submitted
from orders.desk.order_forms import (
    CancelForm,
    ChangeFeeForm,
    DispatchForm,
    FreightForm,
    HoldForm,
    NoteForm,
    transfer_form,
)
from orders.desk.orders import order_page
from orders.desk.review_forms import WriteForm
from orders.desk.roles import open_to
from orders.models import Order
from orders.services import approval, cancelling, charges, decisions, dispatch, invoice, messages, payment
from orders.who import Who, somebody

Doing = Callable[[Who, Order, dict[str, Any]], object]
PLACES = {
    **dict.fromkeys(("transfer", "freight", "carriage"), "money"),
    **dict.fromkeys(("pay_back_bank", "pay_back_card", "refund_bank", "refund_card"), "money"),
    "note": "approvals",
    "write": "messages",
}
"""Where on the page each form stands, by its name; the others stand under what is next."""


def sent(
    request: HttpRequest, row: Order, name: str, form: forms.Form, doing: Doing, said: str
) -> HttpResponse:
    """One form of the order's page, done or shown again under its name on the page."""
    return submitted(
        request,
        form,
        lambda given: doing(somebody(request.user), row, given),
        said,
        lambda form: order_page(request, row, status=422, **{name: form}),
        "desk:order",
        row.number,
        anchor=PLACES.get(name, "next"),
    )


def the_order(number: str) -> Order:
    return get_object_or_404(Order.objects.select_related("customer", "quote__price_book"), number=number)


@require_POST
@open_to("bookkeeper")
def transfer(request: HttpRequest, number: str) -> HttpResponse:
    """Record a bank transfer."""

    def record(who: Who, row: Order, given: dict[str, Any]) -> None:
        payment.record_bank_transfer(
            who,
            row.payment_requests.get(reference=given["request"]),
            given["amount"].minor,
            bank_reference=given["bank_reference"],
            received_on=given["received_on"],
            today=timezone.localdate(),
            now=timezone.now(),
        )

    row = the_order(number)
    form = transfer_form(row, request.POST)
    return sent(request, row, "transfer", form, record, _("The transfer is in the books."))


@require_POST
@open_to()
def hold(request: HttpRequest, number: str) -> HttpResponse:
    """Hold the order."""
    return sent(
        request, the_order(number), "hold", HoldForm(request.POST),
        lambda who, row, given: decisions.hold(who, row, reason=given["reason"], now=timezone.now()),
        _("The order is held."),
    )  # fmt: skip


@require_POST
@open_to()
def resume(request: HttpRequest, number: str) -> HttpResponse:
    """Take the order up again."""
    row = the_order(number)
    return do(
        request,
        lambda: decisions.take_up(somebody(request.user), row, now=timezone.now()),
        _("The order goes on."),
        "desk:order",
        number,
    )


@require_POST
@open_to()
def cancel(request: HttpRequest, number: str) -> HttpResponse:
    """Cancel; of the deposit stays what the accepted terms say, or less."""
    row = the_order(number)
    return sent(
        request, row, "cancel", CancelForm(request.POST, terms=charges.on_cancelling(row)),
        lambda who, row, given: cancelling.cancel_order(
            who, row, reason=given["reason"], retained=given["retained"].minor,
            today=timezone.localdate(), now=timezone.now(),
        ),
        _("The order is cancelled; what is not kept is owed back."),
    )  # fmt: skip


@require_POST
@open_to()
def ask_again(request: HttpRequest, number: str, kind: str) -> HttpResponse:
    """Show the customer a new revision of the drawing or the mock-up."""
    row = the_order(number)
    last = get_object_or_404(row.approvals.filter(kind=kind).order_by("-revision")[:1])
    form = NoteForm(request.POST)
    form.kind = kind
    return sent(
        request, row, "note", form,
        lambda who, row, given: approval.ask_for_approval(
            who, row, kind, last.shown, note=given["note"], now=timezone.now()
        ),
        _("The customer is asked again."),
    )  # fmt: skip


@require_POST
@open_to()
def charge_change(request: HttpRequest, number: str) -> HttpResponse:
    """Charge a change after the drawing was approved."""
    row = the_order(number)
    return sent(
        request, row, "change_fee", ChangeFeeForm(request.POST, fee=charges.change_fee(row)),
        lambda who, row, given: charges.charge_change(
            who, row, given["amount"], reason=given["reason"], now=timezone.now()
        ),
        _("The fee is charged; it stands on the invoice."),
    )  # fmt: skip


@require_POST
@open_to("bookkeeper")
def charge_storage(request: HttpRequest, number: str) -> HttpResponse:
    """Charge the storage that has come up."""
    row = the_order(number)
    return do(
        request,
        lambda: charges.charge_storage(
            somebody(request.user), row, today=timezone.localdate(), now=timezone.now()
        ),
        _("Storage is charged and the customer is told."),
        "desk:order",
        number,
    )


@require_POST
@open_to()
def issue(request: HttpRequest, number: str) -> HttpResponse:
    """Issue the invoice and ask for the balance."""
    row = the_order(number)
    return do(
        request,
        lambda: invoice.issue_invoice(
            somebody(request.user), row, today=timezone.localdate(), now=timezone.now()
        ),
        _("The invoice is issued and the balance asked for."),
        "desk:order",
        number,
    )


@require_POST
@open_to()
def send_off(request: HttpRequest, number: str) -> HttpResponse:
    """Dispatch the order."""
    row = the_order(number)
    unpaid = any(h in (dispatch.UNPAID, dispatch.UNSTORED) for h in dispatch.hindrances(row))
    return sent(
        request, row, "send_off", DispatchForm(request.POST, currency=row.currency, unpaid=unpaid),
        lambda who, row, given: dispatch.dispatch_order(
            who, row, carrier=given["carrier"], tracking=given["tracking"],
            on_account=given.get("on_account", ""), freight_cost=given["freight_cost"],
            today=timezone.localdate(), now=timezone.now(),
        ),
        _("Dispatched. Record and care sheet are being made and go to the customer."),
    )  # fmt: skip


@require_POST
@open_to("bookkeeper")
def freight(request: HttpRequest, number: str) -> HttpResponse:
    """Note what carriage cost in the end."""
    row = the_order(number)
    return sent(
        request, row, "freight", FreightForm(request.POST, currency=row.currency),
        lambda who, row, given: dispatch.note_freight_cost(who, row, given["freight_cost"], now=timezone.now()),
        _("Noted; the difference to the estimate is shown."),
    )  # fmt: skip


@require_POST
@open_to()
def answer(request: HttpRequest, number: str) -> HttpResponse:
    """Write to the customer."""
    return sent(
        request, the_order(number), "write", WriteForm(request.POST),
        lambda who, row, given: messages.write_to_customer(who, row, body=given["body"], now=timezone.now()),
        _("Sent."),
    )  # fmt: skip
