"""One time zone: papers, books, numbers and jobs fall on the workshop's day, whatever the machine's or the settings' is."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command
from django.test import Client
from django.utils import timezone

from orders import worker
from orders.management.in_workshop_time import WorkshopCommand
from orders.models import Invoice, JournalEntry, OutboxJob, PaymentRequest, Workshop
from tests.orders.shop import Shop
from tests.portal.conftest import signed_in

# zone, hour of the day in UTC, and by how many days the workshop's date then differs from the date in UTC
FAR = [("Pacific/Auckland", 13, 1), ("America/Los_Angeles", 3, -1)]


def at(shop: Shop, zone: str, hour: int, monkeypatch: pytest.MonkeyPatch) -> datetime:
    """The day after the shop's clock at an hour when it is already, or still, another day in that zone."""
    Workshop.objects.update(timezone=zone)
    moment = datetime.combine(shop.now.date() + timedelta(days=1), time(hour), UTC)
    monkeypatch.setattr(timezone, "now", lambda: moment)
    return moment


def owner() -> Client:
    return signed_in(User.objects.get(username="owner"))


@pytest.mark.parametrize(("zone", "hour", "days"), FAR)
def test_invoice_due_day_and_posting_at_dispatch_fall_on_the_workshops_day(
    either: Shop, zone: str, hour: int, days: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    order = either.ready()
    either.do(order.propellers.get().stages.get(key="crate"))
    moment = at(either, zone, hour, monkeypatch)
    day = moment.date() + timedelta(days=days)
    assert owner().post(f"/desk/orders/{order.number}/invoice/").status_code == 302
    made = Invoice.objects.get()
    balance = PaymentRequest.objects.get(kind="balance")
    terms = timedelta(days=Workshop.objects.get().payment_days)
    assert (made.issued_on, made.due_on) == (day, day + terms)
    assert balance.due_on == day + terms
    either.now = moment
    either.pay(order, "balance")
    sent = owner().post(f"/desk/orders/{order.number}/dispatch/", {"carrier": "Road haulage"})
    assert sent.status_code == 302
    posted = JournalEntry.objects.exclude(source__startswith="payment").latest("id")
    assert (posted.document_date, posted.posting_date) == (day, day)


@pytest.mark.parametrize(("zone", "hour", "days"), FAR)
def test_a_page_shows_the_workshops_day(
    either: Shop, zone: str, hour: int, days: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    order = either.order()
    moment = at(either, zone, hour, monkeypatch)
    page = owner().get(f"/desk/orders/{order.number}/")
    assert page.context["transfer"].initial["received_on"] == moment.date() + timedelta(days=days)


def test_a_request_leaves_no_zone_behind(shop: Shop) -> None:
    Workshop.objects.update(timezone="Pacific/Auckland")
    Client().get("/")
    assert timezone.get_current_timezone_name() == timezone.get_default_timezone_name()


def test_a_job_and_a_command_count_days_as_the_workshop_does(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[date] = []
    moment = at(shop, *FAR[0][:2], monkeypatch)
    tomorrow = moment.date() + timedelta(days=1)
    monkeypatch.setitem(worker.JOBS, "replan", lambda payload: seen.append(timezone.localdate()))
    OutboxJob.objects.all().delete()
    OutboxJob.objects.create(kind="replan", due_at=moment, created_at=moment)
    worker.sweep()

    class Tell(WorkshopCommand):
        def handle(self, *args: object, **options: object) -> None:
            seen.append(timezone.localdate())

    call_command(Tell())
    assert seen == [tomorrow, tomorrow]


def test_numbers_of_a_year_begin_with_the_workshops_new_year(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop.now = datetime(2026, 12, 30, tzinfo=UTC)
    moment = at(shop, *FAR[0][:2], monkeypatch)
    shop.now = moment
    with worker.workshop_time():
        row = shop.enquiry()
        sent = shop.sent_quote()
        order = shop.accept(sent)
    assert row.number == "E-2027-0001"
    assert order.number == "O-2027-0001"


def test_a_page_reads_the_workshop_once(shop: Shop, django_assert_max_num_queries) -> None:
    client = Client()
    with django_assert_max_num_queries(30) as read:
        client.get("/account/login/")
    rows = [q["sql"] for q in read.captured_queries if "orders_workshop" in q["sql"]]
    assert len(rows) == 1
