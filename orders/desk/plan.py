"""The plan as a wall-calendar sheet: people down, days across, work written in; and the same as a table to read."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from orders.desk.roles import open_to
from orders.models import BenchPerson, Order, PlanVersion, Propeller
from orders.services.opening import NAMES
from orders.services.shop import shop_of
from quoting.leadtime.calendar import Calendar

DAYS_SHOWN = 12


@dataclass
class Row:
    """One person's days: what is written in each."""

    name: str
    days: dict[date, list[dict[str, Any]]] = field(default_factory=lambda: defaultdict(list))


@open_to("bench")
def plan(request: HttpRequest) -> HttpResponse:
    """The current plan from today on, as of when it was made; promises that are late stand out."""
    today = timezone.localdate()
    current = PlanVersion.objects.filter(current=True).first()
    made_on = timezone.localdate(current.as_of) if current else today
    calendar = Calendar(shop_of(made_on))
    days = [today + timedelta(days=n) for n in range(DAYS_SHOWN * 2)]
    days = [day for day in days if calendar.is_working_day(day)][:DAYS_SHOWN]
    work = planned(current, calendar) if current else []
    rows = {p.key: Row(p.name) for p in BenchPerson.objects.filter(active=True)}
    for entry in work:
        for day in entry["days"]:
            if day in days and entry["person"] in rows:
                rows[entry["person"]].days[day].append(entry)
    sheet = [
        (row.name, [(day, by_propeller(row.days.get(day, []))) for day in days]) for row in rows.values()
    ]
    open_orders = Order.objects.exclude(state__in=[Order.State.DISPATCHED, Order.State.CANCELLED])
    dates = {f.order_id: f for f in current.forecasts.all()} if current else {}
    promises = [
        (
            order,
            dates.get(order.pk),
            bool(order.promise and dates.get(order.pk) and dates[order.pk].plan_on > order.promise),
        )
        for order in open_orders.select_related("customer").order_by("promise", "number")
    ]
    return render(
        request,
        "desk/plan.html",
        {
            "plan": current,
            "days": days,
            "sheet": sheet,
            "work": [entry for entry in work if entry["first"] <= days[-1]] if days else [],
            "promises": promises,
            "bottleneck": bottleneck(current, rows),
            "now": timezone.now(),
        },
    )


def by_propeller(entries: list[dict[str, Any]]) -> list[tuple[str, list[str]]]:
    """One day's work of one person: each propeller once, with its stages in turn."""
    found: dict[str, list[str]] = {}
    for entry in entries:
        found.setdefault(entry["serial"], []).append(entry["stage"].lower())
    return list(found.items())


def planned(current: PlanVersion, calendar: Calendar) -> list[dict[str, Any]]:
    """The plan's assignments with names, soonest first; only stages somebody works at."""
    assignments = [a for a in current.plan.get("assignments", []) if a["person"] and a["end"] > a["begin"]]
    propellers = Propeller.objects.select_related("order").in_bulk({a["order"] for a in assignments})
    found = []
    for a in sorted(assignments, key=lambda a: (a["begin"], a["order"])):
        propeller = propellers.get(a["order"])
        if propeller is None:
            continue
        first, last = calendar.day(a["begin"]), calendar.day(a["end"] - 1)
        found.append(
            {
                "person": a["person"],
                "stage": NAMES.get(a["stage"], a["stage"]),
                "serial": propeller.serial or propeller.order.number,
                "order": propeller.order,
                "first": first,
                "last": last,
                "begin": calendar.instant(a["begin"]),
                "days": [first + timedelta(days=n) for n in range((last - first).days + 1)],
            }
        )
    return found


def bottleneck(current: PlanVersion | None, rows: dict[str, Row]) -> tuple[str, int] | None:
    """Who is most in demand, and how much of their time is taken, in percent."""
    found = current.plan.get("bottleneck") if current else None
    if not found or found["person"] not in rows:
        return None
    return rows[found["person"]].name, round(100 * found["share"])
