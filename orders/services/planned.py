"""The plan that stands, read for pages: who does what when, in whole stretches of work; racks; how old it is."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Any

from django.utils import timezone

from orders.models import Order, OutboxJob, PlanVersion, Stage
from orders.services.shop import shop_of
from quoting.leadtime.calendar import Calendar
from quoting.leadtime.shop import Shop
from quoting.leadtime.stretches import stretches

SILENT = timedelta(minutes=2)
"""A job due for longer than this with nobody at work on any: the worker is down."""
TO_COME = (Stage.State.TO_DO, Stage.State.STARTED)


@dataclass(frozen=True, slots=True)
class Stretch:
    """Work at one stage on one day, minutes from midnight, at the machine of that name ("" for none).

    `first` marks the day on which it begins, `late` a propeller that the plan finishes after its promise.
    """

    stage: Stage
    person: str
    day: date
    begin: int
    end: int
    first: bool
    late: bool
    machine: str

    @property
    def is_free(self) -> bool:
        """Whether the bench may do it now: its order has joined the queue and is not held."""
        return self.stage.propeller.order.state not in (Order.State.WAITING, Order.State.HELD)

    @property
    def short(self) -> str:
        """The stage in a word or two, for a narrow cell."""
        return self.stage.key.replace("-", " ")


@dataclass(frozen=True, slots=True)
class Resting:
    """One propeller in a rack on some days."""

    stage: Stage
    rack: str
    first_day: date
    last_day: date


@dataclass(frozen=True)
class Reading:
    """One plan version with the calendar its minutes count in."""

    plan: PlanVersion
    shop: Shop
    calendar: Calendar

    @cached_property
    def assignments(self) -> list[dict[str, Any]]:
        rows: list[dict[str, Any]] = self.plan.plan.get("assignments", [])
        return rows

    @cached_property
    def late(self) -> dict[int, int]:
        """Minutes after the promise by propeller, as the plan stands."""
        return {int(key): minutes for key, minutes in self.plan.plan.get("late", [])}

    @cached_property
    def completions(self) -> dict[int, date]:
        """The day each propeller is finished by the plan."""
        return {int(key): self.calendar.day(at - 1) for key, at in self.plan.plan.get("completions", [])}

    @property
    def bottleneck(self) -> tuple[str, int] | None:
        """The key of the person most in demand and how much of their time until the plan's end is taken, in percent."""
        found = self.plan.plan.get("bottleneck")
        return (found["person"], round(100 * found["share"])) if found else None

    def between(self, first: date, last: date) -> tuple[list[Stretch], list[Resting]]:
        """Work and rests on the days from `first` to `last`, both included, soonest first; two queries at most."""
        begin, end = self.calendar.minute(first), self.calendar.minute(last + timedelta(days=1))
        near = [a for a in self.assignments if a["begin"] < end and max(a["end"], a["ready"]) > begin]
        stages = stages_of(near)
        people = {p.key: p for p in self.shop.persons}
        machines = {m.key: m for m in self.shop.machines}
        types = {s.key: s for s in self.shop.stages}
        work: list[Stretch] = []
        rests: list[Resting] = []
        for a in near:
            stage, kind = stages.get((a["order"], a["stage"])), types.get(a["stage"])
            if stage is None or kind is None:
                continue
            if a["person"] in people:
                parts = stretches(
                    self.calendar, people[a["person"]], a["begin"], a["end"], machines.get(kind.machine or "")
                )
                begins, machine = self.calendar.day(a["begin"]), machines.get(kind.machine or "")
                late, at = a["order"] in self.late, machine.name if machine else ""
                work += [
                    Stretch(stage, a["person"], day, start, stop, day == begins, late, at)
                    for day, start, stop in parts
                    if first <= day <= last
                ]
            if kind.rack and a["ready"] > a["end"]:
                rests.append(
                    Resting(stage, kind.rack, self.calendar.day(a["end"]), self.calendar.day(a["ready"] - 1))
                )
        return sorted(work, key=lambda s: (s.day, s.begin, s.stage.pk)), rests

    def begin_of(self, stage: Stage) -> tuple[datetime, datetime, str] | None:
        """When the plan begins and ends a stage, and who does it."""
        found = next(
            (
                a
                for a in self.assignments
                if (a["order"], a["stage"]) == (stage.propeller_id, stage.key) and a["person"]
            ),
            None,
        )
        if found is None:
            return None
        return self.calendar.instant(found["begin"]), self.calendar.instant(found["end"]), found["person"]


def reading() -> Reading | None:
    """The plan that stands; None before the first one."""
    current = PlanVersion.objects.filter(current=True).defer("snapshot").first()
    if current is None or not current.plan.get("assignments"):
        return None
    shop = shop_of(timezone.localdate(current.as_of))
    return Reading(current, shop, Calendar(shop))


def stages_of(assignments: Iterable[dict[str, Any]]) -> dict[tuple[int, str], Stage]:
    """The stages still to come of these assignments, by propeller and key."""
    rows = Stage.objects.filter(
        propeller__in={a["order"] for a in assignments}, state__in=TO_COME
    ).select_related("propeller__order", "locked_person")
    return {(row.propeller_id, row.key): row for row in rows}


@dataclass(frozen=True, slots=True)
class Standing:
    """Whether the plan is the newest it can be: `being_made` while a new one is due, `silent` when nobody makes it."""

    being_made: bool
    silent: bool


def standing(now: datetime) -> Standing:
    """Whether a new plan is due and whether the worker answers; one query."""
    open_jobs = OutboxJob.objects.filter(
        state__in=[OutboxJob.State.WAITING, OutboxJob.State.RUNNING], due_at__lte=now
    ).values_list("kind", "state", "due_at", "lease_until")
    jobs = list(open_jobs[:200])
    at_work = any(state == OutboxJob.State.RUNNING and lease and lease > now for _, state, _, lease in jobs)
    overdue = any(now - due > SILENT for _, _, due, _ in jobs)
    return Standing(any(kind == "replan" for kind, *_ in jobs), overdue and not at_work)
