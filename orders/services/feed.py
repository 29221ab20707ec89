"""The plan and the promises as iCalendar (RFC 5545): what a secret address answers to a calendar program."""

from collections import Counter
from datetime import UTC, date, datetime, time, timedelta

from django.utils.translation import gettext as _
from icalendar import Calendar, Event

from orders.models import BenchPerson, CalendarLink, Order, Workshop
from orders.services.planned import Reading, Stretch, reading

BEHIND, AHEAD = timedelta(days=14), timedelta(days=90)
REFRESH = timedelta(minutes=30)
HOST = "daybook.invalid"
"""Makes UIDs unique; a name that no host can have."""


def feed(link: CalendarLink, *, today: date, now: datetime) -> bytes:
    """The calendar behind a link: one person's stretches of work, or the days promised on open orders."""
    if link.person:
        return person_feed(link.person, reading(), today=today)
    return promise_feed(now=now)


def person_feed(person: BenchPerson, read: Reading | None, *, today: date) -> bytes:
    """One event for each stretch of a person's work; an event keeps its UID while the plan moves it."""
    calendar = new_calendar(_("Work of %(name)s") % {"name": person.name})
    if read:
        work, _rests = read.between(today - BEHIND, today + AHEAD)
        zone = Workshop.objects.get().zone
        counted: Counter[int] = Counter()
        for stretch in work:
            if stretch.person == person.key:
                counted[stretch.stage.pk] += 1
                event = _work(stretch, counted[stretch.stage.pk], read.plan.as_of)
                midnight = datetime.combine(stretch.day, time())
                for name, minute in (("dtstart", stretch.begin), ("dtend", stretch.end)):
                    local = (midnight + timedelta(minutes=minute)).replace(tzinfo=zone)
                    event.add(name, local.astimezone(UTC))
                calendar.add_component(event)
    return bytes(calendar.to_ical())


def _work(stretch: Stretch, number: int, as_of: datetime) -> Event:
    propeller = stretch.stage.propeller
    event = Event()
    event.add("uid", f"stage-{stretch.stage.pk}-{number}@{HOST}")
    event.add("dtstamp", as_of)
    event.add("summary", f"{propeller.serial or propeller.order.number} {stretch.stage.label}")
    words = [propeller.order.title]
    if propeller.order.promise:
        words.append(_("promised %(day)s") % {"day": propeller.order.promise.isoformat()})
    event.add("description", ", ".join(words))
    event.add("class", "PRIVATE")
    return event


def promise_feed(*, now: datetime) -> bytes:
    """One whole-day event for each open order's promise; no customer is named."""
    calendar = new_calendar(_("Promises"))
    read = reading()
    forecasts = {f.order_id: f.plan_on for f in read.plan.forecasts.all()} if read else {}
    rows = Order.objects.exclude(state__in=[Order.State.DISPATCHED, Order.State.CANCELLED])
    for order in rows.exclude(promise=None).order_by("promise", "number"):
        assert order.promise is not None
        plan_on = forecasts.get(order.pk)
        late = bool(plan_on and plan_on > order.promise)
        event = Event()
        event.add("uid", f"promise-{order.pk}@{HOST}")
        event.add("dtstamp", read.plan.as_of if read else now)
        event.add("summary", f"{order.number} {_('late: ') if late else ''}{order.title}")
        if plan_on:
            event.add("description", _("plan on %(day)s") % {"day": plan_on.isoformat()})
        event.add("dtstart", order.promise)
        event.add("dtend", order.promise + timedelta(days=1))
        event.add("transp", "TRANSPARENT")
        event.add("class", "PRIVATE")
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def new_calendar(name: str) -> Calendar:
    """An empty calendar that programs look at again every half hour."""
    calendar = Calendar()
    calendar.add("prodid", "-//Airscrew Daybook//plan//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", name)
    calendar.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    return calendar
