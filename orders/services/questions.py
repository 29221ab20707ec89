"""Longer questions to the worker: what a decision would do to everybody, and a longer search for a better plan."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.db import transaction

from orders.models import BenchPerson, Enquiry, Machine, Order, PlanQuestion
from orders.refusal import Refused
from orders.services import audit, outbox
from orders.services.decisions import IN_TURN
from orders.who import OWNER, Who

Q = PlanQuestion
SECONDS = (20, 60, 180)
"""How long a search may be asked to take; well under the worker's time limit."""
MOST_DAYS_AWAY = 366


@transaction.atomic
def ask(who: Who, asked: Mapping[str, Any], words: str, *, now: datetime) -> PlanQuestion:
    """Have the worker compare the queue as it is with what it would be; nothing is changed by asking."""
    who.must_be(OWNER)
    row = Q.objects.create(
        kind=Q.Kind.WHAT_IF, asked=dict(asked), words=words[:240], user=who.user, asked_at=now
    )
    outbox.enqueue("what-if", {"question": row.pk}, now=now)
    return row


def accept(who: Who, enquiry: Enquiry, *, rush: bool, now: datetime) -> PlanQuestion:
    """What if this enquiry is accepted as it stands, in its turn or going first."""
    words = f"{enquiry.number} ({enquiry.customer.name}) is accepted{', going first' if rush else ''}"
    return ask(who, {"what": "accept", "enquiry": enquiry.number, "rush": rush}, words, now=now)


def rush(who: Who, order: Order, *, before: Order | None, now: datetime) -> PlanQuestion:
    """What if an order goes first of all, or just before another."""
    if order.state not in IN_TURN:
        raise Refused("no-turn", f"{order.number} is {order.state}.", status=400, field="order")
    if before and before.pk == order.pk:
        raise Refused("same", "Choose another order.", status=400, field="before")
    words = f"{order.number} goes {f'before {before.number}' if before else 'first of all'}"
    asked = {"what": "rush", "order": order.number, "before": before.number if before else None}
    return ask(who, asked, words, now=now)


def away(who: Who, person: BenchPerson, *, first_day: date, last_day: date, now: datetime) -> PlanQuestion:
    """What if somebody is away on these days."""
    _days(first_day, last_day)
    asked = {
        "what": "away", "person": person.key,
        "first_day": first_day.isoformat(), "last_day": last_day.isoformat(),
    }  # fmt: skip
    return ask(who, asked, f"{person.name} is away {_spell(first_day, last_day)}", now=now)


def closed(who: Who, *, first_day: date, last_day: date, now: datetime) -> PlanQuestion:
    """What if the shop is closed on these days."""
    _days(first_day, last_day)
    asked = {"what": "closed", "first_day": first_day.isoformat(), "last_day": last_day.isoformat()}
    return ask(who, asked, f"the shop is closed {_spell(first_day, last_day)}", now=now)


def machine(who: Who, row: Machine, *, now: datetime) -> PlanQuestion:
    """What if there were one more of a machine."""
    return ask(who, {"what": "machine", "machine": row.key}, f"there is one more of {row.name}", now=now)


def weekday(
    who: Who, people: list[BenchPerson], day: int, hours: list[list[int]], *, now: datetime
) -> PlanQuestion:
    """What if these people work on one more weekday (5 is Saturday)."""
    if not people or not hours:
        raise Refused("nobody", "Choose at least one person, and hours.", status=400, field="people")
    names = ", ".join(p.name for p in people)
    name = ("Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays", "Saturdays", "Sundays")[day]
    asked = {"what": "weekday", "people": [p.key for p in people], "day": day, "hours": hours}
    return ask(who, asked, f"{name} are worked by {names}", now=now)


@transaction.atomic
def search(who: Who, *, seconds: int, now: datetime) -> PlanQuestion:
    """Have the worker look longer for a better plan. One search at a time."""
    who.must_be(OWNER)
    if seconds not in SECONDS:
        raise Refused("seconds", "Choose one of the lengths offered.", status=400, field="seconds")
    if Q.objects.filter(kind=Q.Kind.SEARCH, state__in=[Q.State.ASKED, Q.State.RUNNING]).exists():
        raise Refused("under-way", "A longer search is under way.")
    row = Q.objects.create(
        kind=Q.Kind.SEARCH, asked={"seconds": seconds}, words=f"a search of {seconds} seconds",
        user=who.user, asked_at=now,
    )  # fmt: skip
    audit.record(who, "search", "the plan", now=now, detail={"seconds": seconds})
    outbox.enqueue("search-plan", {"question": row.pk}, now=now)
    return row


@transaction.atomic
def cancel(who: Who, row: PlanQuestion, *, now: datetime) -> None:
    """End a question: one not begun is dropped, a search under way keeps the best plan it has found."""
    who.must_be(OWNER)
    if Q.objects.filter(pk=row.pk, state=Q.State.ASKED).update(
        state=Q.State.CANCELLED, cancelled=True, ended_at=now
    ):
        return
    if Q.objects.filter(pk=row.pk, state=Q.State.RUNNING).update(cancelled=True) != 1:
        raise Refused("ended", "It has ended already.")


def _days(first_day: date, last_day: date) -> None:
    if last_day < first_day:
        raise Refused("days", "The last day comes before the first.", status=400, field="last_day")
    if (last_day - first_day).days > MOST_DAYS_AWAY:
        raise Refused("days", "At most a year at a time.", status=400, field="last_day")


def _spell(first_day: date, last_day: date) -> str:
    return f"{first_day.day} {first_day:%B} to {last_day.day} {last_day:%B %Y}"
