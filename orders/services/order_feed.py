"""The days of one order as iCalendar (RFC 5545), for its customer: promise, plan, what is to be paid, dispatch."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta

from django.utils import timezone
from django.utils.translation import gettext as _
from icalendar import Event

from orders.models import Order
from orders.services.feed import HOST, new_calendar
from orders.words import day_words


def order_feed(order: Order, *, now: datetime) -> bytes:
    """Whole-day events; each keeps its UID while its day moves."""
    calendar = new_calendar(_("Order %(number)s") % {"number": order.number})
    for name, day, summary in _days(order):
        event = Event()
        event.add("uid", f"order-{order.pk}-{name}@{HOST}")
        event.add("dtstamp", now)
        event.add("summary", f"{order.number}: {summary}")
        event.add("description", order.title)
        event.add("dtstart", day)
        event.add("dtend", day + timedelta(days=1))
        event.add("transp", "TRANSPARENT")
        event.add("class", "PRIVATE")
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def _days(order: Order) -> Iterator[tuple[str, date, str]]:
    if order.state == Order.State.CANCELLED:
        return
    if order.dispatched_at:
        yield "dispatch", timezone.localdate(order.dispatched_at), _("dispatched")
        return
    plan_on = order.forecasts.order_by("-at", "-id").values_list("plan_on", flat=True).first()
    if order.ready_at:
        yield "ready", timezone.localdate(order.ready_at), _("ready")
    else:
        late = plan_on is not None and order.promise is not None and plan_on > order.promise
        if order.promise:
            said = _("promised ready")
            if late and plan_on:
                said = _("promised ready; late, planned on %(day)s now") % {"day": day_words(plan_on)}
            yield "promise", order.promise, said
        if plan_on and plan_on != order.promise:
            yield "plan", plan_on, _("ready by the plan as it stands")
    for request in order.payment_requests.order_by("asked_at"):
        if not request.is_settled:
            yield (
                f"pay-{request.kind}",
                request.due_on,
                _("%(what)s due") % {"what": request.get_kind_display()},
            )
