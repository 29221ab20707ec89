"""The bench's people at the desk: who they are and when they work, their absences, leaving and coming back."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.doing import do, submitted
from orders.desk.roles import open_to
from orders.desk.shop_forms import AbsenceForm, PersonForm
from orders.models import Absence, BenchPerson
from orders.services import calendar_links, people
from orders.services.shop_check import troubles_of
from orders.who import somebody

PROMISES = "promises"
"""In place of a person's key: the calendar of all promises."""


@open_to()
def everybody(request: HttpRequest) -> HttpResponse:
    """Everybody at the bench, and the form to add one."""
    return everybody_page(request, PersonForm())


def everybody_page(request: HttpRequest, form: PersonForm) -> HttpResponse:
    today = timezone.localdate()
    rows = BenchPerson.objects.prefetch_related("absences").order_by("-active", "name")
    context = {
        "people": [(row, hours_a_week(row), next_away(row, today)) for row in rows],
        "form": form,
        "troubles": troubles_of("people", timezone.now()),
        "now": timezone.now(),
    }
    return render(request, "desk/people.html", context, status=422 if form.errors else 200)


def hours_a_week(person: BenchPerson) -> int:
    """Minutes of work in the person's week."""
    return sum(end - start for day in person.week for start, end in day)


def next_away(person: BenchPerson, today: Any) -> Absence | None:
    return next((a for a in person.absences.all() if a.last_day >= today), None)


@require_POST
@open_to()
def add(request: HttpRequest) -> HttpResponse:
    """Add somebody."""
    form = PersonForm(request.POST)
    return submitted(
        request,
        form,
        lambda given: people.add(somebody(request.user), **person_of(form, given), now=timezone.now()),
        _("Added; the plan is being made anew."),
        lambda wrong: everybody_page(request, wrong),
        "desk:people",
    )


def person_of(form: PersonForm, given: dict[str, Any]) -> dict[str, Any]:
    return {"name": given["name"], "skills": given["skills"], "week": form.week(), "user": given["user"]}


def the_person(key: str) -> BenchPerson:
    return get_object_or_404(BenchPerson, key=key)


@open_to()
def person(request: HttpRequest, key: str) -> HttpResponse:
    """One person: skills, hours, absences."""
    return person_page(request, the_person(key))


def person_page(
    request: HttpRequest, row: BenchPerson, form: PersonForm | None = None, absence: AbsenceForm | None = None
) -> HttpResponse:
    today = timezone.localdate()
    wrong = bool((form and form.errors) or (absence and absence.errors))
    context = {
        "person": row,
        "form": form or PersonForm(person=row),
        "absence": absence or AbsenceForm(),
        "away": row.absences.filter(last_day__gte=today),
        "been": row.absences.filter(last_day__lt=today).order_by("-first_day")[:10],
        "address": calendar_links.address(row),
        "troubles": [t for t in troubles_of("people", timezone.now()) if t.key == row.key],
        "now": timezone.now(),
    }
    return render(request, "desk/person.html", context, status=422 if wrong else 200)


@require_POST
@open_to()
def change(request: HttpRequest, key: str) -> HttpResponse:
    """Change somebody's name, skills, hours or sign-in."""
    row = the_person(key)
    form = PersonForm(request.POST, person=row)
    return submitted(
        request,
        form,
        lambda given: people.change(
            somebody(request.user), row, **person_of(form, given), now=timezone.now()
        ),
        _("Changed; the plan is being made anew."),
        lambda wrong: person_page(request, row, form=wrong),
        "desk:person",
        key,
    )


@require_POST
@open_to()
def away(request: HttpRequest, key: str) -> HttpResponse:
    """Write down days somebody is away."""
    row = the_person(key)
    return submitted(
        request,
        AbsenceForm(request.POST),
        lambda given: people.away(somebody(request.user), row, **given, now=timezone.now()),
        _("Written down; the plan is being made anew."),
        lambda wrong: person_page(request, row, absence=wrong),
        "desk:person",
        key,
        anchor="away",
    )


@require_POST
@open_to()
def back(request: HttpRequest, key: str, pk: int) -> HttpResponse:
    """Strike an absence out, or end one that has begun."""
    row = get_object_or_404(Absence.objects.select_related("person"), pk=pk, person__key=key)
    return do(
        request,
        lambda: people.back(somebody(request.user), row, now=timezone.now()),
        _("Struck out; the plan is being made anew."),
        "desk:person",
        key,
    )


@require_POST
@open_to()
def leave(request: HttpRequest, key: str) -> HttpResponse:
    """Somebody leaves the bench, or comes back to it."""
    row, who, now = the_person(key), somebody(request.user), timezone.now()
    action = people.leave if row.active else people.come_back
    said = _("No longer planned for.") if row.active else _("Planned for again.")
    return do(request, lambda: action(who, row, now=now), said, "desk:person", key)


def whose(key: str) -> tuple[BenchPerson | None, tuple[str, ...]]:
    """Whose calendar a key names, and the page that shows its address."""
    return (None, ("desk:plan",)) if key == PROMISES else (the_person(key), ("desk:person", key))


@require_POST
@open_to()
def make_link(request: HttpRequest, key: str) -> HttpResponse:
    """Open a secret calendar address for a person's work, or for the promises."""
    row, back_to = whose(key)
    return do(
        request,
        lambda: calendar_links.make(somebody(request.user), row, now=timezone.now()),
        _("The address is open."),
        *back_to,
    )


@require_POST
@open_to()
def revoke_link(request: HttpRequest, key: str) -> HttpResponse:
    """End a secret calendar address."""
    row, back_to = whose(key)
    return do(
        request,
        lambda: calendar_links.revoke(somebody(request.user), row, now=timezone.now()),
        _("The address answers no more."),
        *back_to,
    )
