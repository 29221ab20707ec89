"""Planning anew: the worker simulates the queue, swaps the plan in one transaction, and keeps each order's dates.

Imports the simulation; only the worker and commands import this file.
"""

from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any

from cattrs.errors import BaseValidationError
from django.db import transaction
from django.utils import timezone

from orders.models import ForecastHistory, Order, PlanVersion, Propeller
from orders.services import dating, shop
from orders.services.knowledge import snapshot_at
from quoting.leadtime.calendar import Calendar, ShopProblem
from quoting.leadtime.forecast import Completions, forecast
from quoting.leadtime.load import arrivals_a_day, skill_loads
from quoting.leadtime.moves import Move, Snapshot, explain
from quoting.leadtime.outlook import Outlook
from quoting.leadtime.plan import Plan, plan
from quoting.leadtime.probes import customer_days, outlook
from quoting.leadtime.queue import Task
from quoting.services.outlook import store_outlook
from quoting.services.serial import structured, unstructured

FUTURES = 500
SECONDS = 1.0
LIKELY, PLAN_ON, NINETEEN_IN_TWENTY = 0.5, 0.8, 0.95


def replan(payload: dict[str, Any], chosen: Plan | None = None) -> None:
    """Job: simulate and store a new plan. When the shop cannot be simulated the last good plan stands, with the cause.

    A plan already `chosen` by a longer search is kept, else one is looked for in SECONDS from where the last one stood.
    """
    now = timezone.now()
    reason = str(payload.get("reason", ""))[:160]
    typical = shop.typical_route()
    if not typical:
        return
    seen = snapshot_at(now)
    state = seen.shop, seen.orders, seen.calibration
    try:
        view = outlook(*state, now_minute=seen.now, typical=typical, futures=FUTURES)
        done = forecast(*state, now_minute=seen.now, futures=FUTURES, typical=typical)
        if chosen is None and seen.orders:
            chosen = plan(*state, now_minute=seen.now, seconds=SECONDS, start=turn_of_last())
        moves = _moves(seen, typical)
    except ShopProblem as problem:
        note_problem(str(problem), now=now)
        return
    swap(view, seen, done, chosen, typical, moves, reason=reason, now=now)
    dating.ask_again(now=now)


def turn_of_last() -> tuple[int, ...]:
    """The turn in which the plan that stands takes the propellers: the next plan may begin from it."""
    current = PlanVersion.objects.filter(current=True).only("plan").first()
    return tuple(current.plan.get("ranks", ())) if current else ()


def afresh(payload: dict[str, Any]) -> None:
    """Job: a new plan on a new day, whether anything has happened or not."""
    current = PlanVersion.objects.filter(current=True).only("as_of").first()
    now = timezone.now()
    if current is None or timezone.localdate(current.as_of) != timezone.localdate(now):
        replan({"reason": "a new day"})


@transaction.atomic
def note_problem(problem: str, *, now: datetime) -> None:
    """Write the cause beside the plan that stands, or on an empty one when there is none yet."""
    if not PlanVersion.objects.filter(current=True).update(problem=problem):
        PlanVersion.objects.create(
            version=f"none {now.isoformat()}", as_of=now, problem=problem, current=True
        )


@transaction.atomic
def swap(
    view: Outlook,
    seen: Snapshot,
    done: Completions,
    chosen: Plan | None,
    typical: tuple[Task, ...],
    moves: Mapping[int, Move],
    *,
    reason: str,
    now: datetime,
) -> PlanVersion:
    """Make the new plan current in one step; a plan of the very same state is only confirmed.

    When another worker has meanwhile made one of a later state, that one stands.
    """
    newer = PlanVersion.objects.select_for_update().filter(current=True, as_of__gt=now).first()
    if newer:
        return newer
    store_outlook(view)
    _lay_aside()
    row, new = PlanVersion.objects.update_or_create(
        version=view.version,
        defaults={
            "as_of": now,
            "current": True,
            "problem": "",
            "reason": reason,
            "plan": asdict(chosen) if chosen else {},
            "snapshot": unstructured(seen),
            "load": _loads(seen, typical),
        },
    )
    if new:
        _keep_dates(row, seen, done, moves, reason=reason, now=now)
    return row


def _lay_aside() -> None:
    """The plan that stood until now: of its snapshot only what was learnt stays, of its work nothing."""
    for old in PlanVersion.objects.filter(current=True):
        kept = {"calibration": old.snapshot["calibration"]} if "calibration" in old.snapshot else {}
        PlanVersion.objects.filter(pk=old.pk).update(current=False, plan={}, snapshot=kept)


def _moves(seen: Snapshot, typical: tuple[Task, ...]) -> dict[int, Move]:
    """Why each order's date has moved since the plan that stands."""
    current = PlanVersion.objects.filter(current=True).first()
    if current is None or not current.snapshot:
        return {}
    try:
        before = structured(current.snapshot, Snapshot)
        return explain(before, seen, typical=typical)
    except (BaseValidationError, ShopProblem, KeyError):
        return {}  # a snapshot of another shape, or of a shop that could no longer work: nothing to compare with


def _loads(seen: Snapshot, typical: tuple[Task, ...]) -> dict[str, float]:
    """Share of working time that arriving work takes, of everybody ("") and of each skill's holders."""
    a_day = arrivals_a_day(seen.shop, typical, seen.calibration)
    loads = skill_loads(seen.shop, typical, seen.calibration)
    return {skill: round(a_day * share, 4) for skill, share in loads.items() if share != float("inf")}


def _keep_dates(
    row: PlanVersion,
    seen: Snapshot,
    done: Completions,
    moves: Mapping[int, Move],
    *,
    reason: str,
    now: datetime,
) -> None:
    """One line of forecast history per order: its last propeller counts."""
    calendar = Calendar(seen.shop)
    last: dict[int, int] = {}
    entries = {o.key: o for o in seen.orders}
    order_of = dict(Propeller.objects.filter(pk__in=entries).values_list("pk", "order_id"))
    for entry in seen.orders:
        if entry.held:
            continue
        kept = last.get(order_of[entry.key])
        if kept is None or done.quantile(entry.key, PLAN_ON) > done.quantile(kept, PLAN_ON):
            last[order_of[entry.key]] = entry.key
    known = set(Order.objects.filter(pk__in=last).values_list("pk", flat=True))
    ForecastHistory.objects.bulk_create(
        ForecastHistory(
            order_id=order,
            plan=row,
            likely_by=calendar.day(done.quantile(key, LIKELY)),
            plan_on=calendar.day(done.quantile(key, PLAN_ON)),
            nineteen_in_twenty=calendar.day(done.quantile(key, NINETEEN_IN_TWENTY)),
            reason=reason,
            causes=[[cause, round(days, 1)] for cause, days in moves[key].reasons] if key in moves else [],
            waits=[wait.kind for wait in entries[key].waits],
            customer_days=customer_days(seen.calibration, entries[key].waits, seen.now),
            at=now,
        )
        for order, key in last.items()
        if order in known
    )
