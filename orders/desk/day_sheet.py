"""Day sheets: what each person does on a day by the plan, to print and to read on a phone."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from orders.desk.plan import first_day
from orders.desk.roles import open_to
from orders.models import BenchPerson
from orders.services.planned import Reading, Stretch, reading, standing
from orders.who import OWNER, somebody

LOOK_AHEAD = timedelta(days=91)


@open_to("bench")
def day_sheets(request: HttpRequest) -> HttpResponse:
    """Everybody's sheet of one day, each on a page of its own when printed."""
    return sheets_page(request, list(BenchPerson.objects.filter(active=True)))


@open_to("bench")
def day_sheet(request: HttpRequest, key: str) -> HttpResponse:
    """One person's sheet of one day."""
    return sheets_page(request, [get_object_or_404(BenchPerson, key=key)])


def sheets_page(request: HttpRequest, people: list[BenchPerson]) -> HttpResponse:
    now, today = timezone.now(), timezone.localdate()
    day = first_day(request.GET.get("day", ""), today)
    read = reading()
    work, out = sheets(read, day) if read else ({}, [])
    context = {
        "day": day,
        "today": today,
        "before": day - timedelta(days=1),
        "after": day + timedelta(days=1),
        "sheets": [(person, work.get(person.key, [])) for person in people],
        "one": len(people) == 1,
        "out": out,
        "plan": read.plan if read else None,
        "standing": standing(now),
        "may_decide": OWNER in somebody(request.user).roles,
        "now": now,
    }
    return render(request, "desk/day_sheets.html", context)


def sheets(read: Reading, day: date) -> tuple[dict[str, list[Stretch]], list[Any]]:
    """By person the day's stretches in turn; and what comes out of the racks."""
    work, rests = read.between(day, day)
    found: dict[str, list[Stretch]] = defaultdict(list)
    for stretch in work:
        found[stretch.person].append(stretch)
    return found, [rest for rest in rests if rest.last_day == day]


@dataclass(frozen=True, slots=True)
class OwnDay:
    """A person's jobs on a day by the plan, each with its stretches; without any, `next_day` is the first that has some."""

    jobs: list[list[Stretch]]
    next_day: date | None


def own_day(person: BenchPerson | None, day: date) -> OwnDay | None:
    """A person's own day by the plan; None for whoever is not at the bench, or before the first plan."""
    read = reading() if person else None
    if not read or not person:
        return None
    jobs: dict[int, list[Stretch]] = defaultdict(list)
    for stretch in sheets(read, day)[0].get(person.key, []):
        jobs[stretch.stage.pk].append(stretch)
    return OwnDay(list(jobs.values()), None if jobs else next_day(read, person.key, day))


def next_day(read: Reading, person: str, day: date) -> date | None:
    """The first day after `day` on which the plan has work for a person, within a quarter of a year."""
    ahead, _rests = read.between(day + timedelta(days=1), day + LOOK_AHEAD)
    return next((stretch.day for stretch in ahead if stretch.person == person), None)
