"""The plan as a wall-calendar sheet: people down, days across, work written in; the same as a table; late promises first."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _

from orders.desk.roles import open_to
from orders.models import (
    Absence,
    BenchPerson,
    Closure,
    ForecastHistory,
    Order,
    PlanQuestion,
    PlanVersion,
    Propeller,
    Rack,
    Workshop,
)
from orders.services import calendar_links, decisions
from orders.services.planned import Reading, Resting, Stretch, reading, standing
from orders.services.shop import holidays_of
from orders.who import OWNER, somebody
from quoting.leadtime.calendar import Calendar, ShopProblem

DAYS_SHOWN = 10
VERSIONS_SHOWN = 8
FURTHEST_DAYS = 730
FRIDAY, OVER_A_WEEKEND = 4, 3


@dataclass
class Cell:
    """One day of one person, or of one rack: what is written in it, and why nothing is."""

    day: date
    work: list[Stretch] = field(default_factory=list)
    rests: list[Resting] = field(default_factory=list)
    note: str = ""

    @property
    def propellers(self) -> list[tuple[Stretch, list[Stretch]]]:
        """The day's work by propeller, in turn: one of its stretches for its name, and all of them."""
        found: dict[int, list[Stretch]] = {}
        for stretch in self.work:
            found.setdefault(stretch.stage.propeller_id, []).append(stretch)
        return [(parts[0], once_a_stage(parts)) for parts in found.values()]


def once_a_stage(parts: list[Stretch]) -> list[Stretch]:
    """Work before and after a break stands once."""
    return list({part.stage.pk: part for part in reversed(parts)}.values())[::-1]


@dataclass(frozen=True)
class Late:
    """One promise that the plan or the forecast does not keep."""

    order: Order
    by_plan: date | None
    forecast: ForecastHistory | None

    @property
    def days(self) -> int:
        """How many days after the promise the plan finishes it, or the forecast's 80 % day lies."""
        last = max(
            d
            for d in (self.by_plan, self.forecast.plan_on if self.forecast else None, self.order.promise)
            if d
        )
        return (last - (self.order.promise or last)).days


@open_to("bench")
def plan(request: HttpRequest) -> HttpResponse:
    """The plan that stands; promises that are late and the bottleneck stand out."""
    now, today = timezone.now(), timezone.localdate()
    read = reading()
    context: dict[str, Any] = {
        "now": now,
        "today": today,
        "plan": read.plan if read else PlanVersion.objects.filter(current=True).defer("snapshot").first(),
        "standing": standing(now),
        "may_decide": OWNER in somebody(request.user).roles,
        "last": decisions.last(),
        "address": calendar_links.address(None),
        "versions": PlanVersion.objects.exclude(reason="").values("as_of", "reason")[:VERSIONS_SHOWN],
        "searching": PlanQuestion.objects.filter(
            kind=PlanQuestion.Kind.SEARCH, state__in=[PlanQuestion.State.ASKED, PlanQuestion.State.RUNNING]
        ).first(),
    }
    if read:
        context |= sheet(read, first_day(request.GET.get("from", ""), today), today)
        context |= promises(read)
    return render(request, "desk/plan.html", context)


@open_to("bench")
def news(request: HttpRequest) -> HttpResponse:
    """How the plan stands, asked for while a new one is being made; a page that shows an older plan is loaded afresh."""
    now = timezone.now()
    current = PlanVersion.objects.filter(current=True).only("pk", "as_of").first()
    version = f"{current.pk}.{current.as_of.timestamp():.0f}" if current else "0."
    if request.GET.get("version", version) != version:
        return HttpResponse(headers={"HX-Refresh": "true"})
    return render(
        request, "desk/plan_standing.html", {"plan": current, "standing": standing(now), "now": now}
    )


def first_day(typed: str, today: date) -> date:
    """The day the sheet begins with: as asked for within two years, else today."""
    try:
        asked = date.fromisoformat(typed)
    except ValueError:
        return today
    return asked if abs((asked - today).days) <= FURTHEST_DAYS else today


def sheet(read: Reading, first: date, today: date) -> dict[str, Any]:
    """Ten working days from `first` on: rows of cells for people and racks, and the same work as a list."""
    calendar = read.calendar
    try:
        days = calendar.working_days(first, DAYS_SHOWN)
    except ShopProblem as problem:
        return {"days": (), "shop_problem": str(problem)}
    work, rests = read.between(days[0], days[-1])
    by_cell: dict[tuple[str, date], list[Stretch]] = defaultdict(list)
    for stretch in work:
        by_cell[stretch.person, stretch.day].append(stretch)
    notes = notes_of(days)
    people = {p.key: p for p in read.shop.persons}
    names = dict(BenchPerson.objects.values_list("key", "name"))
    busiest = read.bottleneck
    rows = [
        (
            key,
            names.get(key, key),
            busiest[1] if busiest and busiest[0] == key else None,
            [Cell(day, by_cell[key, day], note=note_of(calendar, person, day, notes)) for day in days],
        )
        for key, person in people.items()
    ]
    racks = [
        (
            rack,
            [
                Cell(day, rests=[r for r in rests if r.rack == rack.key and r.first_day <= day <= r.last_day])
                for day in days
            ],
        )
        for rack in Rack.objects.all()
    ]
    able = {
        kind.skill: " ".join(key for key, person in people.items() if kind.skill in person.skills)
        for kind in read.shop.stages
    }
    return {
        "days": days,
        "rows": rows,
        "racks": racks,
        "work": work,
        "able": able,
        "closed": closed_days(days),
        "names": names,
        "earlier": earlier(calendar, days[0]),
        "later": days[-1] + timedelta(days=1),
        "at_today": days[0] <= today,
        "busiest": (names.get(busiest[0], busiest[0]), busiest[1]) if busiest else None,
    }


def earlier(calendar: Calendar, first: date) -> date:
    """The day from which a sheet ends just before this one begins."""
    day, count = first, 0
    while count < DAYS_SHOWN and (first - day).days < 60:
        day -= timedelta(days=1)
        count += calendar.is_working_day(day)
    return day


def notes_of(days: tuple[date, ...]) -> dict[tuple[str, date], str]:
    """Why somebody, or everybody (key ""), does not work on some of these days."""
    found: dict[tuple[str, date], str] = {}
    spells = Absence.objects.filter(first_day__lte=days[-1], last_day__gte=days[0]).select_related("person")
    for absence in spells:
        for day in days:
            if absence.first_day <= day <= absence.last_day:
                found[absence.person.key, day] = absence.reason or _("away")
    return found


def note_of(calendar: Calendar, person: Any, day: date, notes: dict[tuple[str, date], str]) -> str:
    if calendar.shifts(person, day):
        return ""
    return notes.get((person.key, day)) or _("off")


def closed_days(days: tuple[date, ...]) -> list[tuple[date, date, str]]:
    """Spells within the sheet, weekends passed over, in which the shop is closed: first day, last day, reason."""
    workshop = Workshop.objects.get()
    public = holidays_of(workshop, range(days[0].year, days[-1].year + 1))
    own = list(Closure.objects.filter(first_day__lte=days[-1], last_day__gte=days[0]))
    spells: list[tuple[date, date, str]] = []
    for n in range((days[-1] - days[0]).days + 1):
        day = days[0] + timedelta(days=n)
        closure = next((c for c in own if c.first_day <= day <= c.last_day), None)
        why = (closure.reason or _("closed")) if closure else public.get(day, "")
        if not why or day.weekday() > FRIDAY:
            continue
        before = spells[-1] if spells else None
        if before and before[2] == why and (day - before[1]).days <= OVER_A_WEEKEND:
            spells[-1] = (before[0], day, why)
        else:
            spells.append((day, day, why))
    return spells


def promises(read: Reading) -> dict[str, Any]:
    """Every open order with its promise, the plan's day and the forecast; the late ones apart, latest first."""
    forecasts = {f.order_id: f for f in read.plan.forecasts.all()}
    propellers = Propeller.objects.filter(
        order__state__in=[Order.State.WAITING, Order.State.QUEUED, Order.State.ON_THE_BENCH]
    ).values_list("pk", "order_id")
    by_plan: dict[int, date] = {}
    for pk, order_id in propellers:
        if pk in read.completions:
            by_plan[order_id] = max(read.completions[pk], by_plan.get(order_id, date.min))
    held = Order.objects.filter(state=Order.State.HELD).select_related("customer")
    rows = [(order, by_plan.get(order.pk), forecasts.get(order.pk)) for order in decisions.turn()]
    late = [Late(*row) for row in rows if row[0].promise and is_late(*row)]
    return {
        "promises": [(*row, is_late(*row)) for row in rows],
        "held": list(held),
        "late": sorted(late, key=lambda row: -row.days),
        "ranked": any(order.rank is not None for order, *_ in rows),
    }


def is_late(order: Order, by_plan: date | None, forecast: ForecastHistory | None) -> bool:
    """Whether the plan finishes an order after its promise, or fewer than four futures in five keep it."""
    if order.promise is None:
        return False
    return bool((by_plan and by_plan > order.promise) or (forecast and forecast.plan_on > order.promise))
