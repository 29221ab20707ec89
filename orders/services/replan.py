"""Planning anew: the worker simulates the queue, swaps the plan in one transaction, and keeps each order's dates.

Imports the simulation; only the worker and commands import this file.
"""

from dataclasses import asdict
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from orders.models import ForecastHistory, Order, PlanVersion, Propeller
from orders.services import shop
from quoting.leadtime.calendar import Calendar, ShopProblem
from quoting.leadtime.calibration import Calibration
from quoting.leadtime.forecast import Completions, forecast
from quoting.leadtime.outlook import Outlook
from quoting.leadtime.plan import Plan, plan
from quoting.leadtime.probes import outlook
from quoting.leadtime.queue import QueuedOrder
from quoting.services.outlook import store_outlook

FUTURES = 500
SECONDS = 1.0
LIKELY, PLAN_ON, NINETEEN_IN_TWENTY = 0.5, 0.8, 0.95


def replan(payload: dict[str, Any]) -> None:
    """Job: simulate and store a new plan. When the shop cannot be simulated the last good plan stands, with the cause."""
    now = timezone.now()
    reason = str(payload.get("reason", ""))[:160]
    values = shop.shop_of(timezone.localdate(now))
    calendar = Calendar(values)
    orders, typical = shop.queue_of(calendar), shop.typical_route()
    if not typical:
        return
    minute = calendar.now(now)
    calibration = Calibration()
    try:
        view = outlook(values, orders, calibration, now_minute=minute, typical=typical, futures=FUTURES)
        done = forecast(values, orders, calibration, now_minute=minute, futures=FUTURES, typical=typical)
        chosen = plan(values, orders, calibration, now_minute=minute, seconds=SECONDS) if orders else None
    except ShopProblem as problem:
        note_problem(str(problem), now=now)
        return
    swap(view, orders, done, chosen, calendar, reason=reason, now=now)


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
    orders: tuple[QueuedOrder, ...],
    done: Completions,
    chosen: Plan | None,
    calendar: Calendar,
    *,
    reason: str,
    now: datetime,
) -> PlanVersion:
    """Make the new plan current in one step; a plan of the very same state is only confirmed."""
    store_outlook(view)
    PlanVersion.objects.filter(current=True).update(current=False)
    row, new = PlanVersion.objects.update_or_create(
        version=view.version,
        defaults={
            "as_of": now,
            "current": True,
            "problem": "",
            "reason": reason,
            "plan": asdict(chosen) if chosen else {},
        },
    )
    if new:
        _keep_dates(row, orders, done, calendar, reason=reason, now=now)
    return row


def _keep_dates(
    row: PlanVersion,
    orders: tuple[QueuedOrder, ...],
    done: Completions,
    calendar: Calendar,
    *,
    reason: str,
    now: datetime,
) -> None:
    """One line of forecast history per order: its last propeller counts."""
    last: dict[int, int] = {}
    order_of = dict(Propeller.objects.filter(pk__in=[o.key for o in orders]).values_list("pk", "order_id"))
    for entry in orders:
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
            at=now,
        )
        for order, key in last.items()
        if order in known
    )
