"""Release: nothing leaves the inspection that is not measured and within its limits."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from orders.models import BenchPerson, Order, Propeller, Stage, StageRecord
from orders.refusal import Refused
from orders.services import audit, bench, documents, postings
from orders.services.accepted import build_cost, build_figures
from orders.services.bench import Recorded
from orders.services.measurements import judge, measurements
from orders.services.steps import locked, move_order
from orders.who import BENCH, OWNER, Who
from quoting.propeller.build import CRATING, INSPECTION
from quoting.propeller.finding import Finding, Severity


def findings_of(propeller: Propeller) -> tuple[Finding, ...]:
    """What stands against release: stages not done, and latest measurements missing or outside their limits."""
    wanted = measurements(build_figures(propeller))
    found: list[Finding] = []
    for stage in propeller.stages.exclude(key__in=[INSPECTION, CRATING]).order_by("position"):
        if stage.state == Stage.State.LEFT_OUT:
            continue
        latest = latest_record(stage)
        if stage.state != Stage.State.DONE or latest is None:
            found.append(
                Finding(
                    "stage-not-done", Severity.STOP, stage.key, None, None, "",
                    f"“{stage.label}” is not done.", "build order of the house",
                )
            )  # fmt: skip
        elif stage.key in wanted:
            found += judge(wanted[stage.key], latest.measurements)[1]
    return tuple(found)


def latest_record(stage: Stage) -> StageRecord | None:
    """The finished record that counts."""
    return stage.records.filter(finished=True).order_by("-recorded_at", "-id").first()


def failed_records(propeller: Propeller) -> list[tuple[StageRecord, tuple[Finding, ...]]]:
    """Every record of a propeller that left its stage open, with what was wrong, oldest first."""
    rows = StageRecord.objects.filter(stage__propeller=propeller, finished=True)
    rows = rows.select_related("stage__propeller__order__quote", "person").order_by("recorded_at", "id")
    return [(row, bench.findings_of_record(row)) for row in rows if bench.failed(row)]


@transaction.atomic
def inspect_and_release(
    who: Who,
    propeller: Propeller,
    person: BenchPerson,
    *,
    minutes: int,
    measurements: Mapping[str, Any],
    note: str = "",
    now: datetime,
) -> tuple[Finding, ...]:
    """Inspect one propeller and release it if nothing stands against it; returns what was found.

    With a stop among the findings nothing is released; the bench mends and the inspection is made again. When the
    last propeller of an order is released the order is ready and its cost goes into work in progress.
    """
    who.must_be(BENCH, OWNER)
    if "inspection" not in person.skills:
        raise Refused("skill", f"{person.name} does not inspect.", status=400, field="person")
    order = locked(propeller.order)
    propeller = Propeller.objects.select_related("order").get(pk=propeller.pk)
    if propeller.state != Propeller.State.IN_WORK:
        raise Refused("wrong-state", f"The propeller is {propeller.state}.")
    found = findings_of(propeller)
    if any(f.severity is Severity.STOP for f in found):
        return found
    stage = propeller.stages.get(key=INSPECTION)
    recorded: Recorded = bench.write_record(
        who, stage, person, minutes=minutes, given=measurements, note=note, now=now
    )
    found += recorded.findings
    if not recorded.is_done:
        return found
    Propeller.objects.filter(pk=propeller.pk, state=Propeller.State.IN_WORK).update(
        state=Propeller.State.RELEASED, released_at=now, released_by=who.name[:120]
    )
    audit.record(
        who, "release", f"propeller {propeller.serial}", now=now,
        before=Propeller.State.IN_WORK, after=Propeller.State.RELEASED,
    )  # fmt: skip
    documents.ask_for("build-record", order, propeller=propeller, now=now)
    if not order.propellers.exclude(state__in=[Propeller.State.RELEASED, Propeller.State.SCRAPPED]).exists():
        _make_ready(who, order, now=now)
    return found


def _make_ready(who: Who, order: Order, *, now: datetime) -> None:
    order.refresh_from_db()
    move_order(who, order, Order.State.READY, now=now, verb="make ready", ready_at=now)
    cost = build_cost(order)
    if not postings.was_built(order):
        postings.built(
            who, order, materials=cost.materials, labour=cost.labour, today=timezone.localdate(now), now=now
        )
