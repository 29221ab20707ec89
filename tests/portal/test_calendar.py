"""The calendar feeds: read by a calendar library, true to the plan, behind an address that can be revoked."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from django.core.cache import caches
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from icalendar import Calendar

from orders.models import BenchPerson, CalendarLink, Order
from orders.services import calendar_links, people
from orders.services.planned import reading
from tests.kit.databases import SQLiteFile
from tests.kit.planned_shop import plan_once
from tests.orders.shop import Shop


@pytest.fixture
def shop(planned_template: SQLiteFile, django_db_blocker) -> Iterator[Shop]:
    caches["here"].clear()
    with django_db_blocker.unblock(), planned_template.fresh():
        yield Shop(now=timezone.now())


def read(client: Client, link: CalendarLink) -> Calendar:
    response = client.get(reverse("portal:calendar", args=[link.token]))
    assert response.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert response.headers["Cache-Control"] == "private, max-age=300"
    return Calendar.from_ical(response.content)


def test_a_persons_feed_holds_every_stretch_of_their_work(anyone: Client, shop: Shop) -> None:
    link = calendar_links.make(shop.owner, shop.wes, now=shop.now)
    events = read(anyone, link).walk("VEVENT")
    found = reading()
    assert found is not None
    work, _rests = found.between(shop.today - timedelta(days=14), shop.today + timedelta(days=90))
    mine = [w for w in work if w.person == "wes"]
    assert len(events) == len(mine) > 5
    first, event = mine[0], events[0]
    begins = found.calendar.instant(found.calendar.minute(first.day, first.begin))
    assert event.decoded("dtstart").astimezone(UTC) == begins
    assert first.stage.propeller.serial in str(event["summary"])
    assert len({str(e["uid"]) for e in events}) == len(events)
    assert all(e.decoded("dtstart") < e.decoded("dtend") for e in events)


def test_an_event_keeps_its_uid_when_the_plan_moves_it(anyone: Client, shop: Shop) -> None:
    link = calendar_links.make(shop.owner, shop.wes, now=shop.now)
    before = {str(e["uid"]): e.decoded("dtstart") for e in read(anyone, link).walk("VEVENT")}
    first = shop.today
    people.away(shop.owner, shop.wes, first_day=first, last_day=first + timedelta(days=41), now=shop.now)
    plan_once()
    after = {str(e["uid"]): e.decoded("dtstart") for e in read(anyone, link).walk("VEVENT")}
    kept = before.keys() & after.keys()
    assert kept
    assert any(before[uid] != after[uid] for uid in kept)
    back = datetime.combine(first + timedelta(days=42), datetime.min.time(), tzinfo=UTC) - timedelta(hours=3)
    assert all(begins >= back for begins in after.values())


def test_the_feed_of_promises_names_orders_and_no_customer(anyone: Client, shop: Shop) -> None:
    events = read(anyone, calendar_links.make(shop.owner, None, now=shop.now)).walk("VEVENT")
    promised = dict(Order.objects.values_list("number", "promise"))
    assert [e.decoded("dtstart") for e in events] == sorted(promised.values())
    assert "late: " in str(events[0]["summary"])
    assert all("Wren" not in str(e["summary"]) + str(e.get("description", "")) for e in events)


def test_a_revoked_address_and_a_guessed_one_are_not_there(anyone: Client, shop: Shop) -> None:
    old = calendar_links.make(shop.owner, shop.wes, now=shop.now)
    fresh = calendar_links.make(shop.owner, shop.wes, now=shop.now)
    assert old.token != fresh.token
    assert len(fresh.token) >= 40
    for token, status in ((old.token, 404), (fresh.token, 200), ("a" * 43, 404)):
        assert anyone.get(reverse("portal:calendar", args=[token])).status_code == status
    calendar_links.revoke(shop.owner, shop.wes, now=shop.now)
    assert anyone.get(reverse("portal:calendar", args=[fresh.token])).status_code == 404


def test_the_owner_makes_and_revokes_an_address_on_the_persons_page(owner: Client, shop: Shop) -> None:
    owner.post(reverse("desk:calendar-make", args=["wes"]))
    link = CalendarLink.objects.get(revoked_at=None)
    page = owner.get(reverse("desk:person", args=["wes"])).content.decode()
    assert link.token in page
    owner.post(reverse("desk:calendar-revoke", args=["wes"]))
    assert link.token not in owner.get(reverse("desk:person", args=["wes"])).content.decode()
    owner.post(reverse("desk:calendar-make", args=["promises"]))
    assert CalendarLink.objects.get(revoked_at=None).token in owner.get(reverse("desk:plan")).content.decode()


def test_whoever_leaves_takes_no_open_calendar_along(anyone: Client, shop: Shop) -> None:
    ada = BenchPerson.objects.get(key="ada")
    link = calendar_links.make(shop.owner, ada, now=shop.now)
    people.leave(shop.owner, ada, now=shop.now)
    assert anyone.get(reverse("portal:calendar", args=[link.token])).status_code == 404


def test_there_is_one_open_address_of_the_promises(shop: Shop) -> None:
    first = calendar_links.make(shop.owner, None, now=shop.now)
    second = calendar_links.make(shop.owner, None, now=shop.later(minutes=1))
    assert list(CalendarLink.objects.filter(person=None, revoked_at=None)) == [second]
    with pytest.raises(IntegrityError), transaction.atomic():
        CalendarLink.objects.filter(pk=first.pk).update(revoked_at=None)
