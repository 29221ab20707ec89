"""Secret addresses for calendar programs: one for each person's work and one for the promises, revocable at any time."""

import secrets
from datetime import datetime

from django.conf import settings
from django.db import transaction

from orders.models import BenchPerson, CalendarLink, Workshop
from orders.services import audit
from orders.who import OWNER, Who


def link_of(person: BenchPerson | None) -> CalendarLink | None:
    """The link in force for a person, or for the promises."""
    return CalendarLink.objects.filter(person=person, revoked_at=None).first()


def address(person: BenchPerson | None) -> str:
    """Where a calendar program reads it; empty while no link is in force."""
    link = link_of(person)
    return f"{settings.BASE_URL}/calendar/{link.token}.ics" if link else ""


@transaction.atomic
def make(who: Who, person: BenchPerson | None, *, now: datetime) -> CalendarLink:
    """A fresh link; the one in force until now ends."""
    who.must_be(OWNER)
    Workshop.objects.select_for_update().get()  # one link is made at a time, the second ends the first
    revoke(who, person, now=now)
    made = CalendarLink.objects.create(token=secrets.token_urlsafe(32), person=person, made_at=now)
    audit.record(who, "make a calendar link", str(made), now=now)
    return made


@transaction.atomic
def revoke(who: Who, person: BenchPerson | None, *, now: datetime) -> None:
    """End the link in force, if there is one: its address answers no more."""
    who.must_be(OWNER)
    if CalendarLink.objects.filter(person=person, revoked_at=None).update(revoked_at=now):
        audit.record(who, "revoke the calendar link", f"calendar of {person or 'promises'}", now=now)
