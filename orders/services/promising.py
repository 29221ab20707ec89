"""The promised day of an order that joins the queue later than its quote counted on."""

from datetime import date, timedelta

from django.utils import timezone

from orders.models import Approval, Order, PaymentRequest
from quoting.leadtime.calendar import round_up
from quoting.services.outlook import outlook_on
from quoting.services.quotes import results_of


def promise_on_joining(order: Order, today: date) -> date | None:
    """The day promised, later by the days by which acceptance, deposit and drawing came after the day counted on.

    Days that the workshop held the order are its own. Never earlier than the quote said, and on a working day. None
    where the quote promised none.
    """
    said = results_of(order.quote).forecast
    if order.promise is None or said is None:
        return order.promise
    late = min(_last_of_customer(order), today) - said.counts_on
    if late <= timedelta(0):
        return order.promise
    moved = order.promise + late
    days = outlook_on(today).working_days
    return round_up(moved, days[0] if days else today, [d for d in days if d >= moved - timedelta(days=7)])


def _last_of_customer(order: Order) -> date:
    """The day of the last thing the queue waited on: acceptance, deposit, answers, approval of the drawing."""
    instants = [
        order.accepted_at,
        *order.approvals.filter(kind=Approval.Kind.DRAWING).values_list("decided_at", flat=True),
        *order.confirmations.values_list("decided_at", flat=True),
    ]
    paid = order.payments.filter(request__kind=PaymentRequest.Kind.DEPOSIT).values_list(
        "received_on", flat=True
    )
    return max([*(timezone.localdate(at) for at in instants if at), *paid])
