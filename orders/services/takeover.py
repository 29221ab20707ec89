"""Taking over a build recorded on paper: every stage up to the inspection in one go, judged like any other record."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction

from orders.models import Approval, BenchPerson, Order, Propeller, Stage, StageRecord
from orders.refusal import Refused
from orders.services import audit
from orders.services.accepted import build_figures
from orders.services.measurements import judge, measurements
from orders.services.queue import is_approved
from orders.services.steps import locked, move_order
from orders.who import OWNER, Who
from quoting.propeller.build import CRATING, INSPECTION
from quoting.propeller.finding import Severity

STAYS_AT_THE_BENCH = frozenset({INSPECTION, CRATING})
"""Inspection releases and crating follows it: both are done on the article itself, never taken over."""


@dataclass(frozen=True, slots=True)
class PaperRecord:
    """One stage as it stands on paper."""

    stage: str
    person: BenchPerson
    minutes: int
    measurements: dict[str, str]
    began: datetime
    ended: datetime


@transaction.atomic
def take_over_build(who: Who, propeller: Propeller, records: Sequence[PaperRecord], *, now: datetime) -> None:
    """Store a paper build of a queued propeller, in build order.

    Raises Refused, with nothing stored, when a stage is missing or out of order, when a wait was not kept, or when a
    measurement is missing or outside its limits: such a build is recorded at the bench, stage by stage.
    """
    who.must_be(OWNER)
    order = locked(propeller.order)
    if (
        order.state not in (Order.State.QUEUED, Order.State.ON_THE_BENCH)
        or propeller.state != propeller.State.PLANNED
    ):
        raise Refused(
            "wrong-state", f"Order {order.number} is {order.state}, its propeller {propeller.state}."
        )
    if not is_approved(order, Approval.Kind.MOCK_UP):
        raise Refused("mock-up", "No varnish before the customer has approved the mock-up.")
    to_do = propeller.stages.exclude(state=Stage.State.LEFT_OUT).order_by("position")
    stages = [s for s in to_do if s.key not in STAYS_AT_THE_BENCH]
    if [s.key for s in stages] != [r.stage for r in records]:
        raise Refused(
            "stage-order", "The record must hold every stage before the inspection, in build order."
        )
    wanted = measurements(build_figures(propeller))
    kept = []
    free = None
    for stage, record in zip(stages, records, strict=True):
        if record.ended < record.began or (free and record.began < free) or record.ended > now:
            raise Refused(
                "times",
                f"“{stage.label}” begins before the stage before it has rested, or ends in the future.",
            )
        stored, findings = judge(wanted.get(stage.key, ()), record.measurements)
        if any(f.severity is Severity.STOP for f in findings):
            raise Refused("measurements", f"“{stage.label}”: {findings[0].message}", field=stage.key)
        kept.append(
            StageRecord(
                stage=stage, person=record.person, user=who.user, minutes=record.minutes, measurements=stored,
                recorded_at=record.ended,
            )
        )  # fmt: skip
        stage.state, stage.started_by = Stage.State.DONE, record.person
        stage.started_at, stage.finished_at = record.began, record.ended
        free = record.ended + timedelta(minutes=stage.wait_minutes)
    StageRecord.objects.bulk_create(kept)
    Stage.objects.bulk_update(stages, ["state", "started_by", "started_at", "finished_at"])
    Propeller.objects.filter(pk=propeller.pk).update(state=Propeller.State.IN_WORK)
    audit.record(who, "take over the build", f"propeller {propeller.serial}", now=now)
    if order.state == Order.State.QUEUED:
        move_order(who, order, Order.State.ON_THE_BENCH, now=records[0].began, verb="begin the build")
