"""The bench's people: who they are, what they can do, when they work, when they are away."""

from datetime import date, datetime, timedelta

from django.contrib.auth.models import User
from django.utils import timezone

from orders.models import Absence, BenchPerson, CalendarLink, Stage
from orders.refusal import Refused
from orders.services.keys import free_key
from orders.services.shop import Week
from orders.services.shop_check import edited
from orders.who import Who
from quoting.propeller.build import SKILLS

LONGEST_ABSENCE = timedelta(days=730)


def add(
    who: Who, *, name: str, skills: list[str], week: Week, user: User | None = None, now: datetime
) -> BenchPerson:
    """Somebody new at the bench."""
    with edited(who, "add to the bench", name, now=now, field="week"):
        _sane(name, skills)
        keys = set(BenchPerson.objects.values_list("key", flat=True))
        return BenchPerson.objects.create(
            key=free_key(name, keys, otherwise="person"),
            name=name.strip(),
            skills=skills,
            week=week,
            user=user,
        )


def change(
    who: Who,
    person: BenchPerson,
    *,
    name: str,
    skills: list[str],
    week: Week,
    user: User | None,
    now: datetime,
) -> None:
    """Name, skills, hours and sign-in of somebody. Raises Refused when a stage would have nobody left to do it."""
    fewer = set(person.skills) - set(skills)
    with edited(who, "change", person.name, now=now, field="skills" if fewer else "week"):
        _sane(name, skills, but=person)
        BenchPerson.objects.filter(pk=person.pk).update(
            name=name.strip(), skills=skills, week=week, user=user
        )


def leave(who: Who, person: BenchPerson, *, now: datetime) -> None:
    """Somebody leaves: kept in the records, no longer planned for; stages fixed to them are free again."""
    with edited(who, "leave the bench", person.name, now=now):
        Stage.objects.filter(locked_person=person, state=Stage.State.TO_DO).update(locked_person=None)
        if Stage.objects.filter(started_by=person, state=Stage.State.STARTED).exists():
            raise Refused("started", f"{person.name} has begun a stage: let it be recorded first.")
        BenchPerson.objects.filter(pk=person.pk).update(active=False)
        CalendarLink.objects.filter(person=person, revoked_at=None).update(revoked_at=now)


def come_back(who: Who, person: BenchPerson, *, now: datetime) -> None:
    """Somebody who left is planned for again."""
    with edited(who, "come back to the bench", person.name, now=now):
        BenchPerson.objects.filter(pk=person.pk).update(active=True)


def away(
    who: Who,
    person: BenchPerson,
    *,
    first_day: date,
    last_day: date,
    reason: str = "",
    foreseen: bool = True,
    now: datetime,
) -> Absence:
    """Days somebody is away, both ends included; days written down before keep their own reason.

    Returns the first stretch that was added. Raises Refused at the day when they end before they begin, or when every
    one of them is written down already.
    """
    if last_day < first_day:
        raise Refused("days", "The last day comes before the first.", status=400, field="last_day")
    if last_day - first_day > LONGEST_ABSENCE:
        raise Refused(
            "days", "Longer than two years: let them leave the bench instead.", status=400, field="last_day"
        )
    with edited(who, f"away {first_day} to {last_day}", person.name, now=now, field="last_day"):
        known = list(person.absences.filter(first_day__lte=last_day, last_day__gte=first_day))
        left = _beside([(row.first_day, row.last_day) for row in known], first_day, last_day)
        if not left:
            spells = "; ".join(f"{row.first_day} to {row.last_day}" for row in known)
            raise Refused(
                "days", f"These days are written down already: {spells}.", status=400, field="first_day"
            )
        added = [
            Absence.objects.create(
                person=person, first_day=first, last_day=last, reason=reason.strip()[:80], foreseen=foreseen
            )
            for first, last in left
        ]
        return added[0]


def _beside(taken: list[tuple[date, date]], first: date, last: date) -> list[tuple[date, date]]:
    """What of the days from `first` to `last` lies outside the stretches `taken`, which are in order of their first day."""
    found = []
    for begin, end in taken:
        if first < begin:
            found.append((first, begin - timedelta(days=1)))
        first = max(first, end + timedelta(days=1))
    return [*found, (first, last)] if first <= last else found


def back(who: Who, absence: Absence, *, now: datetime) -> None:
    """Strike an absence out; one that has begun is cut to the days that were really missed."""
    today = timezone.localdate(now)
    with edited(who, f"not away {absence.first_day} to {absence.last_day}", absence.person.name, now=now):
        if absence.first_day < today:
            Absence.objects.filter(pk=absence.pk).update(
                last_day=min(absence.last_day, today - timedelta(days=1))
            )
        else:
            absence.delete()


def _sane(name: str, skills: list[str], but: BenchPerson | None = None) -> None:
    if not name.strip():
        raise Refused("name", "Enter a name.", status=400, field="name")
    strangers = set(skills) - set(SKILLS)
    if strangers:
        raise Refused("skills", f"Choose skills among {', '.join(SKILLS)}.", status=400, field="skills")
    same = BenchPerson.objects.filter(name__iexact=name.strip(), active=True)
    if (same.exclude(pk=but.pk) if but else same).exists():
        raise Refused(
            "name", "Somebody at the bench has this name: add an initial.", status=400, field="name"
        )
