"""The shop's own record as the forecast learns from it: visits to stages, waits, absences. Stores nothing."""

from collections.abc import Iterator
from datetime import datetime

from orders.models import Absence, Approval, BenchPerson, Order, PaymentRequest, Propeller, Stage
from orders.models import StageRecord as Row
from quoting.leadtime.calendar import Calendar
from quoting.leadtime.calibration import ACCEPTANCE, Calibration, ReworkLoop
from quoting.leadtime.history import History, OrderRecord, StageRecord, WaitRecord
from quoting.leadtime.queue import Task
from quoting.propeller.build import MOCK_UP_BEFORE

END_OF_DAY = 1439
"""A date given means the end of that day."""


def history_of(calendar: Calendar, *, loop: ReworkLoop | None = None) -> History:
    """Every propeller of every order that was not cancelled, from the first order on. Minutes of the shop's calendar."""
    loop = loop or Calibration().rework
    orders = tuple(_order(row, calendar, loop) for row in _propellers())
    since = min((o.arrived for o in orders), default=0)
    return History(since, orders, _unforeseen(calendar))


def _propellers() -> Iterator[Propeller]:
    rows = (
        Propeller.objects.exclude(order__state=Order.State.CANCELLED)
        .exclude(state=Propeller.State.SCRAPPED)
        .select_related("order__quote")
        .prefetch_related(
            "stages__records__person", "stages__started_by",
            "order__approvals", "order__payment_requests__payments", "order__timber_waits",
        )
        .order_by("order__accepted_at", "order_id", "position")
    )  # fmt: skip
    return rows.iterator(chunk_size=200)


def _order(propeller: Propeller, calendar: Calendar, loop: ReworkLoop) -> OrderRecord:
    order = propeller.order
    stages = [s for s in propeller.stages.all() if s.state != Stage.State.LEFT_OUT]
    visits = [v for place, stage in enumerate(stages) for v in _visits(place, stage, calendar, loop)]
    done = propeller.released_at or order.ready_at
    return OrderRecord(
        key=propeller.pk,
        arrived=calendar.now(order.accepted_at),
        klass=0 if order.rush else 1,
        due=calendar.minute(order.promise, END_OF_DAY) if order.promise else None,
        route=tuple(Task(s.key, s.minutes, s.wait_minutes) for s in stages),
        stages=tuple(sorted(visits, key=lambda v: v.begin)),
        waits=tuple(_waits(order, calendar)),
        finished=calendar.now(done) if done else None,
    )


def _visits(place: int, stage: Stage, calendar: Calendar, loop: ReworkLoop) -> Iterator[StageRecord]:
    """Each pass of a stage from first record to finish; every pass but the last led to another."""
    passes: list[list[Row]] = [[]]
    for row in stage.records.all():
        passes[-1].append(row)
        if row.finished:
            passes.append([])
    finished = passes[:-1]
    for number, rows in enumerate(finished):
        share = loop.pass_share if number else 1.0
        again = number + 1 < len(finished) or stage.state in (Stage.State.TO_DO, Stage.State.STARTED)
        yield StageRecord(
            task=place,
            stage=stage.key,
            estimate=max(1, round(stage.minutes * share)) if stage.minutes else 0,
            wait=stage.wait_minutes,
            person=rows[-1].person.key,
            begin=calendar.now(rows[0].recorded_at) - rows[0].minutes,
            end=calendar.now(rows[-1].recorded_at),
            work=sum(row.minutes for row in rows),
            redo=again,
        )
    if stage.state == Stage.State.STARTED and stage.started_at:
        person = stage.started_by.key if stage.started_by else None
        begin = calendar.now(stage.started_at)
        yield StageRecord(place, stage.key, stage.minutes, stage.wait_minutes, person, begin)


def _waits(order: Order, calendar: Calendar) -> Iterator[WaitRecord]:
    if order.quote.issued_at:
        since, until = calendar.now(order.quote.issued_at), calendar.now(order.accepted_at)
        yield WaitRecord(ACCEPTANCE, "customer", since, until)
    deposit = next((r for r in order.payment_requests.all() if r.kind == PaymentRequest.Kind.DEPOSIT), None)
    if deposit:
        since = calendar.now(deposit.asked_at)
        yield WaitRecord("deposit", "customer", since, _until(_settled(deposit), calendar))
    for kind, before in ((Approval.Kind.DRAWING, None), (Approval.Kind.MOCK_UP, MOCK_UP_BEFORE)):
        asked = [a for a in order.approvals.all() if a.kind == kind]
        if asked:
            last = max(asked, key=lambda a: a.revision)
            approved = last.decided_at if last.state == Approval.State.APPROVED else None
            since = calendar.now(min(a.asked_at for a in asked))
            yield WaitRecord(kind.value, "customer", since, _until(approved, calendar), before)
    for wait in order.timber_waits.all():
        yield WaitRecord("timber", "supplier", calendar.now(wait.since), _until(wait.until, calendar))


def _settled(request: PaymentRequest) -> datetime | None:
    """When the amount asked for had come in."""
    paid = 0
    for payment in sorted(request.payments.all(), key=lambda p: p.recorded_at):
        paid += payment.amount
        if paid >= request.amount:
            return payment.recorded_at
    return None


def _until(instant: datetime | None, calendar: Calendar) -> int | None:
    return calendar.now(instant) if instant else None


def _unforeseen(calendar: Calendar) -> frozenset[tuple[str, int]]:
    """(person, day number) of days away that nobody had foreseen: sickness and the like."""
    known = set(BenchPerson.objects.values_list("key", flat=True))
    rows = Absence.objects.filter(foreseen=False).values_list("person__key", "first_day", "last_day")
    epoch = calendar.shop.epoch
    return frozenset(
        (who, day)
        for who, first, last in rows
        if who in known
        for day in range((first - epoch).days, (last - epoch).days + 1)
    )
