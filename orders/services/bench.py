"""At the bench: stages started and recorded in build order, with their measurements."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from orders.models import Approval, BenchPerson, Order, Propeller, Stage, StageRecord
from orders.refusal import Refused
from orders.services import documents, outbox
from orders.services.accepted import build_figures
from orders.services.kept_files import kept_if_stored
from orders.services.measurements import Measurement, judge, measurements
from orders.services.queue import is_approved
from orders.services.steps import locked, move_order
from orders.who import BENCH, OWNER, Who
from quoting.propeller.build import CRATING, INSPECTION, MOCK_UP_BEFORE
from quoting.propeller.finding import Finding, Severity

S = Stage.State
MOST_MINUTES = 1440
LONGEST_NOTE = 4000


@dataclass(frozen=True, slots=True)
class Recorded:
    """What came of a record: the row, and what is wrong with the measurements. A stop leaves the stage open."""

    record: StageRecord
    findings: tuple[Finding, ...]

    @property
    def is_done(self) -> bool:
        return self.record.finished and all(f.severity is not Severity.STOP for f in self.findings)


def required(stage: Stage) -> tuple[Measurement, ...]:
    """The measurements a stage asks for."""
    return measurements(build_figures(stage.propeller)).get(stage.key, ())


def findings_of_record(record: StageRecord) -> tuple[Finding, ...]:
    """What was outside its limits in a finished record."""
    return judge(required(record.stage), record.measurements)[1] if record.finished else ()


def failed(record: StageRecord) -> bool:
    """Whether a record left its stage open because of what was measured."""
    return any(f.severity is Severity.STOP for f in findings_of_record(record))


def needs_mending(stage: Stage) -> bool:
    """Whether the stage's latest finished record, made since it was begun, failed and nothing before it was done since."""
    last = stage.records.filter(finished=True).last()
    since = last and stage.started_at and last.recorded_at >= stage.started_at
    if not last or not since or not failed(last):
        return False
    earlier = stage.propeller.stages.filter(position__lt=stage.position)
    return not earlier.filter(finished_at__gt=last.recorded_at).exists()


def obstacle(stage: Stage, *, now: datetime) -> Refused | None:
    """Why a stage cannot be worked at now: the order's state, an earlier stage, a wait, or the mock-up."""
    propeller, order = stage.propeller, stage.propeller.order
    at_work = (Order.State.QUEUED, Order.State.ON_THE_BENCH)
    if order.state not in at_work and not (stage.key == CRATING and order.state == Order.State.READY):
        return Refused(
            "wrong-state", f"Order {order.number} is {order.state}; nothing can be recorded on it."
        )
    earlier = sorted(
        (row for row in propeller.stages.all() if row.position < stage.position), key=lambda row: row.position
    )
    undone = next((row for row in earlier if row.state not in (S.DONE, S.LEFT_OUT)), None)
    if undone:
        return Refused("stage-order", f"“{undone.label}” comes before “{stage.label}”.")
    last = next((row for row in reversed(earlier) if row.state == S.DONE), None)
    if last and last.finished_at:
        free = last.finished_at + timedelta(minutes=last.wait_minutes)
        if now < free:
            return Refused("waiting", f"“{last.label}” rests until {free.astimezone():%d %B %H:%M}.")
    if last is None and order.timber_waits.filter(until=None).exists():
        return Refused("timber", f"The timber for {order.number} is not here yet.")
    if stage.key == MOCK_UP_BEFORE and not is_approved(order, Approval.Kind.MOCK_UP):
        return Refused("mock-up", "No varnish before the customer has approved the mock-up.")
    if stage.key == CRATING and propeller.state != Propeller.State.RELEASED:
        return Refused("not-released", "The propeller is not released yet.")
    return None


@transaction.atomic
def start_stage(who: Who, stage: Stage, person: BenchPerson, *, now: datetime) -> Stage:
    """Somebody begins a stage; the first one puts order and propeller in work."""
    who.must_be(BENCH, OWNER)
    stage = locked_stage(stage)
    if stage.state != S.TO_DO:
        raise Refused("wrong-state", f"“{stage.label}” is {stage.state}.")
    _start(who, stage, person, begun=now, now=now)
    return stage


def _start(who: Who, stage: Stage, person: BenchPerson, *, begun: datetime, now: datetime) -> None:
    trouble = obstacle(stage, now=now)
    if trouble:
        raise trouble
    Stage.objects.filter(pk=stage.pk, state=S.TO_DO).update(
        state=S.STARTED, started_at=begun, started_by=person
    )
    stage.refresh_from_db()
    propeller, order = stage.propeller, stage.propeller.order
    Propeller.objects.filter(pk=propeller.pk, state=Propeller.State.PLANNED).update(
        state=Propeller.State.IN_WORK
    )
    if order.state == Order.State.QUEUED:
        move_order(who, order, Order.State.ON_THE_BENCH, now=now, verb="begin the build")
    outbox.enqueue("replan", {"reason": f"{propeller.serial}: {stage.key} begun"}, now=now, debounce="replan")


def record_stage(
    who: Who,
    stage: Stage,
    person: BenchPerson,
    *,
    minutes: int,
    measurements: Mapping[str, Any],
    note: str = "",
    photo: bytes | None = None,
    finished: bool = True,
    now: datetime,
) -> Recorded:
    """Record work on a stage. Unfinished work needs no measurements; a finished stage needs them all.

    Raises Refused at the field for unreadable input, with nothing stored. A measurement outside its limits is
    recorded, comes back as a finding, and leaves the stage open. `photo` is a JPEG that has been drawn anew.
    """
    who.must_be(BENCH, OWNER)
    with kept_if_stored() as keep, transaction.atomic():
        stage = locked_stage(stage)
        if stage.key == INSPECTION:
            raise Refused("release", "The inspection is recorded by releasing the propeller.")
        return write_record(
            who,
            stage,
            person,
            minutes=minutes,
            given=measurements,
            note=note,
            photo=keep(f"bench/{stage.propeller.serial}-{stage.key}.jpg", photo) if photo else "",
            finished=finished,
            now=now,
        )


def write_record(
    who: Who,
    stage: Stage,
    person: BenchPerson,
    *,
    minutes: int,
    given: Mapping[str, Any],
    note: str,
    photo: str = "",
    finished: bool = True,
    now: datetime,
) -> Recorded:
    """Add a record to a stage, `photo` being the name of a kept file; assumes a transaction that locked the order."""
    if not 0 <= minutes <= MOST_MINUTES:
        raise Refused(
            "minutes", f"Enter whole minutes from 0 to {MOST_MINUTES}.", status=400, field="minutes"
        )
    if len(note) > LONGEST_NOTE:
        raise Refused("note", f"Write at most {LONGEST_NOTE} characters.", status=400, field="note")
    if stage.state in (S.DONE, S.LEFT_OUT):
        raise Refused("wrong-state", f"“{stage.label}” is {stage.state}; do it again from its page.")
    if stage.state == S.TO_DO:
        _start(who, stage, person, begun=now - timedelta(minutes=minutes), now=now)
    elif trouble := obstacle(stage, now=now):
        raise trouble
    stored, findings = judge(required(stage), given) if finished else ({}, ())
    mended = note.strip() or not finished or not needs_mending(stage)
    for finding in findings:
        if finding.code in ("measurement-missing", "measurement-unreadable"):
            raise Refused(finding.code, finding.message, status=400, field=finding.field)
    if not mended:
        raise Refused(
            "mended-missing", "The last measurement was outside its limits: say what was mended, or how it was "
            "measured wrongly.", status=400, field="note",
        )  # fmt: skip
    record = StageRecord(
        stage=stage, person=person, user=who.user, minutes=minutes, measurements=stored, note=note, photo=photo,
        redo=stage.records.filter(finished=True).exists(), finished=finished, recorded_at=now,
    )  # fmt: skip
    record.save()
    recorded = Recorded(record, findings)
    if recorded.is_done:
        Stage.objects.filter(pk=stage.pk, state=S.STARTED).update(state=S.DONE, finished_at=now)
        stage.refresh_from_db()
        if stage.key == CRATING:
            documents.ask_for("packing-list", stage.propeller.order, propeller=stage.propeller, now=now)
    outbox.enqueue(
        "replan", {"reason": f"{stage.propeller.serial}: {stage.key} recorded"}, now=now, debounce="replan"
    )
    return recorded


def locked_stage(stage: Stage) -> Stage:
    """The stage with its order locked: one writer a build."""
    locked(stage.propeller.order)
    return Stage.objects.select_related("propeller__order").get(pk=stage.pk)
