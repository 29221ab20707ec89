"""The shop and its queue as frozen values for the forecast: read from tables, nothing computed here."""

from datetime import date, timedelta

import holidays

from orders.models import (
    Approval,
    BenchPerson,
    Closure,
    Machine,
    Order,
    PaymentRequest,
    Propeller,
    Rack,
    Stage,
    StageType,
    Workshop,
)
from quoting.leadtime import queue, shop
from quoting.leadtime.calendar import Calendar
from quoting.leadtime.history import mean_route
from quoting.propeller.build import MOCK_UP_BEFORE

Week = list[list[list[int]]]
"""(start, end) minutes of each weekday, Monday first."""
YEARS_AHEAD = 4
EPOCH = date(2024, 1, 1)
"""The Monday that minutes are counted from, the same for every plan, so that two plans can be compared."""
LATEST = 30
"""Propellers whose stages tell what an ordinary one is."""
QUEUE_STATES = (Order.State.WAITING, Order.State.QUEUED, Order.State.ON_THE_BENCH, Order.State.HELD)
TO_COME = (Stage.State.TO_DO, Stage.State.STARTED)


def shop_of(today: date) -> shop.Shop:
    """People, machines, racks, stages and closed days as they stand."""
    workshop = Workshop.objects.get()
    years = range(today.year - 1, today.year + YEARS_AHEAD)
    return shop.Shop(
        epoch=EPOCH,
        timezone=workshop.timezone,
        persons=tuple(
            _person(row, workshop.opening)
            for row in BenchPerson.objects.filter(active=True).prefetch_related("absences")
        ),
        machines=tuple(
            shop.Machine(row.key, row.name, frozenset(map(date.fromisoformat, row.out_of_use)), row.count)
            for row in Machine.objects.order_by("key")
        ),
        racks=tuple(shop.Rack(row.key, row.name, row.capacity) for row in Rack.objects.order_by("key")),
        stages=tuple(
            shop.StageType(
                row.key, row.name, row.skill,
                row.machine.key if row.machine else None, row.rack.key if row.rack else None,
            )
            for row in StageType.objects.select_related("machine", "rack")
        ),
        closed=_closed(workshop, years),
    )  # fmt: skip


def _person(row: BenchPerson, opening: Week) -> shop.Person:
    away = frozenset(day for a in row.absences.all() for day in _days(a.first_day, a.last_day))
    hours = within(row.week, opening)
    week = tuple(tuple((int(start), int(end)) for start, end in day) for day in hours)
    return shop.Person(row.key, row.name, frozenset(row.skills), week, away)


def within(week: Week, opening: Week) -> Week:
    """A person's week cut to the hours the shop is open; as it is where no opening hours are entered."""
    if not any(opening):
        return week
    return [
        [[max(a, c), min(b, d)] for a, b in day for c, d in open_day if max(a, c) < min(b, d)]
        for day, open_day in zip(week, opening, strict=True)
    ]


def holidays_of(workshop: Workshop, years: range) -> dict[date, str]:
    """The public holidays of the workshop's country and part of it, with their names."""
    found = holidays.country_holidays(
        workshop.holidays_country, subdiv=workshop.holidays_subdivision or None, years=list(years)
    )
    return dict(found)


def _closed(workshop: Workshop, years: range) -> frozenset[date]:
    public = holidays_of(workshop, years)
    own = (day for c in Closure.objects.all() for day in _days(c.first_day, c.last_day))
    return frozenset(public) | frozenset(own)


def _days(first: date, last: date) -> list[date]:
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def queue_of(calendar: Calendar) -> tuple[queue.QueuedOrder, ...]:
    """One entry a propeller still to be built, in order of acceptance; its key is the propeller's."""
    rows = (
        Propeller.objects.filter(
            order__state__in=QUEUE_STATES, state__in=[Propeller.State.PLANNED, Propeller.State.IN_WORK]
        )
        .select_related("order")
        .prefetch_related(
            "stages__records", "stages__started_by", "stages__locked_person",
            "order__approvals", "order__payment_requests__payments", "order__timber_waits",
        )
        .order_by("order__accepted_at", "order__id", "position")
    )  # fmt: skip
    entries = (_queued(row, calendar) for row in rows)
    return tuple(entry for entry in entries if entry.tasks)


def _queued(propeller: Propeller, calendar: Calendar) -> queue.QueuedOrder:
    order = propeller.order
    due = calendar.minute(order.promise, 1439) if order.promise else None
    return queue.QueuedOrder(
        key=propeller.pk,
        name=f"{order.number}/{propeller.position}",
        arrived=calendar.now(order.accepted_at),
        tasks=tuple(_task(s, calendar) for s in propeller.stages.all() if s.state in TO_COME),
        waits=_waits(order, calendar),
        klass=0 if order.rush else 1,
        due=due,
        rank=order.rank,
        held=order.state == Order.State.HELD,
    )


def _task(stage: Stage, calendar: Calendar) -> queue.Task:
    started = stage.state == Stage.State.STARTED and stage.started_at is not None
    return queue.Task(
        stage=stage.key,
        work=stage.minutes,
        wait=stage.wait_minutes,
        started=calendar.now(stage.started_at) if started and stage.started_at else None,
        person=stage.started_by.key if started and stage.started_by else None,
        done=_done(stage) if started else 0,
        locked_person=stage.locked_person.key if stage.locked_person else None,
        not_before=calendar.now(stage.not_before) if stage.not_before else None,
    )


def _done(stage: Stage) -> int:
    """Minutes recorded since the stage was last finished: those of the pass that runs."""
    minutes = 0
    for record in stage.records.all():
        minutes = 0 if record.finished else minutes + record.minutes
    return minutes


def _waits(order: Order, calendar: Calendar) -> tuple[queue.OuterWait, ...]:
    waits = []
    since = calendar.now(order.accepted_at)
    if order.state == Order.State.WAITING:
        deposit = next(
            (r for r in order.payment_requests.all() if r.kind == PaymentRequest.Kind.DEPOSIT), None
        )
        if deposit and sum(p.amount for p in deposit.payments.all()) < deposit.amount:
            waits.append(queue.OuterWait("deposit", "customer", since))
    for kind, before in ((Approval.Kind.DRAWING, None), (Approval.Kind.MOCK_UP, MOCK_UP_BEFORE)):
        asked = [a for a in order.approvals.all() if a.kind == kind]
        if asked and max(asked, key=lambda a: a.revision).state != Approval.State.APPROVED:
            waits.append(queue.OuterWait(kind.value, "customer", since, before))
    for wait in order.timber_waits.all():
        if wait.until is None:
            waits.append(queue.OuterWait("timber", "supplier", calendar.now(wait.since)))
    return tuple(waits)


def typical_route() -> tuple[queue.Task, ...]:
    """The ordinary propeller's stages: the commonest chain of the latest orders with its mean work; empty without orders."""
    latest = Propeller.objects.order_by("-order__accepted_at", "-order_id", "-position")[:LATEST]
    routes = [
        tuple(queue.Task(s.key, s.minutes, s.wait_minutes) for s in propeller.stages.all())
        for propeller in latest.prefetch_related("stages")
    ]
    return mean_route(routes)
