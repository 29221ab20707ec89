"""The promised day of an order that joins the queue later than its quote counted on."""

from datetime import date, timedelta

from orders.models import Order
from quoting.leadtime.calendar import round_up
from quoting.services.outlook import outlook_on
from quoting.services.quotes import results_of


def promise_on_joining(order: Order, today: date) -> date | None:
    """The day promised, later by the days by which acceptance, deposit and drawing came after the day counted on.

    Never earlier than the quote said, and on a working day. None where the quote promised none.
    """
    said = results_of(order.quote).forecast
    if order.promise is None or said is None or today <= said.counts_on:
        return order.promise
    moved = order.promise + (today - said.counts_on)
    days = outlook_on(today).working_days
    return round_up(moved, days[0] if days else today, [d for d in days if d >= moved - timedelta(days=7)])
