"""A customer follows the build: days, figures, photographs once released, lateness, money to come, and a calendar."""

import io
from datetime import date, timedelta

import pytest
from django.test import Client
from django.utils import timezone
from icalendar import Calendar
from PIL import Image

from orders.models import ForecastHistory, Order, PlanVersion
from orders.services import bench, invoice, redoing
from portal.following import calendar_address, late_of, stages_of
from tests.orders.shop import Shop, sound


def stage_of(order: Order, key: str) -> dict:
    stages = stages_of(order, "mm")[0]["stages"]
    place = list(order.propellers.get().stages.values_list("key", flat=True)).index(key)
    return stages[place]


def forecast(order: Order, plan_on: date) -> None:
    plan, _ = PlanVersion.objects.get_or_create(
        version="1", defaults={"as_of": timezone.now(), "current": True}
    )
    ForecastHistory.objects.create(
        order=order,
        plan=plan,
        likely_by=plan_on,
        plan_on=plan_on,
        nineteen_in_twenty=plan_on,
        at=timezone.now(),
    )


def photographed(shop: Shop, order: Order, key: str) -> bench.Recorded:
    picture = io.BytesIO()
    Image.new("RGB", (60, 40), "tan").save(picture, "JPEG")
    stage = order.propellers.get().stages.get(key=key)
    shop.later(days=12)
    return bench.record_stage(
        shop.at_bench, stage, shop.wes, minutes=30, measurements=sound(stage.propeller, key),
        photo=picture.getvalue(), now=shop.now,
    )  # fmt: skip


def calendar(client: Client, order: Order) -> dict[str, str]:
    address = calendar_address(order)
    answer = client.get(address[address.index("/calendar") :])
    assert answer.status_code == 200 and answer.headers["Content-Type"].startswith("text/calendar")
    events = Calendar.from_ical(answer.content).walk("VEVENT")
    return {str(e["UID"]).split("-", 2)[2].split("@")[0]: f"{e['DTSTART'].dt} {e['SUMMARY']}" for e in events}


def test_a_stage_done_says_its_day_and_what_was_measured_within_which_limits(shop: Shop):
    order = shop.ready()
    track = stage_of(order, "track")
    done = order.propellers.get().stages.get(key="track").finished_at
    assert track["day"] == f"{timezone.localtime(done):%-d %B %Y}"
    assert track["measured"] == ["Track difference 1.587 mm, wanted at most 3.175"]
    assert "Mass 5 kg" in stage_of(order, "inspect")["measured"]
    assert stage_of(order, "varnish")["measured"] == []


def test_lengths_come_in_inches_for_who_reads_inches(shop: Shop):
    order = shop.ready()
    said = [words for row in stages_of(order, "in")[0]["stages"] for words in row["measured"]]
    assert any("1.587 mm (0.062 in)" in words for words in said)


def test_a_stage_to_come_says_no_day_and_no_figures(shop: Shop):
    row = stage_of(shop.queued(), "track")
    assert (row["day"], row["measured"], row["word"]) == ("", [], "to come")


def test_photographs_are_shown_once_the_propeller_is_released_and_to_its_customer_only(anyone, shop: Shop):
    order = shop.queued()
    shop.approve(order, "mock-up")
    record = photographed(shop, order, "condition").record
    url = f"/order/{order.token}/photograph/{record.pk}/"
    assert anyone.get(url).status_code == 404
    assert url not in anyone.get(f"/order/{order.token}/").content.decode()
    propeller = order.propellers.get()
    for stage in propeller.stages.filter(position__gt=1).order_by("position"):
        if stage.key == "inspect":
            break
        shop.do(stage)
    shop.release(propeller)
    assert url in anyone.get(f"/order/{order.token}/").content.decode()
    assert anyone.get(url).headers["Content-Type"] == "image/jpeg"
    other = shop.order()
    assert anyone.get(f"/order/{other.token}/photograph/{record.pk}/").status_code == 404


def test_the_balance_to_come_is_named_before_it_is_asked_for(anyone, shop: Shop):
    order = shop.queued()
    rows = anyone.get(f"/order/{order.token}/").context["payments"]
    assert [(row["label"], row["amount"], row["url"]) for row in rows][-1] == ("Balance", order.balance, "")


def test_the_balance_asked_for_is_named_once(anyone, shop: Shop):
    order = shop.ready()
    invoice.issue_invoice(shop.owner, order, today=shop.today, now=shop.now)
    rows = anyone.get(f"/order/{order.token}/").context["payments"]
    assert [row["label"] for row in rows].count("Balance") == 1


def test_an_order_planned_after_its_promise_is_called_late_everywhere(anyone, alice, shop: Shop):
    order = shop.queued()
    forecast(order, order.promise + timedelta(days=9))
    later = order.promise + timedelta(days=9)
    shown = anyone.get(f"/order/{order.token}/").content.decode()
    assert "<b>Late.</b>" in shown and f"we now plan on {later:%-d %B %Y}" in shown
    assert f"Late; we now plan on {later:%-d %B %Y}." in alice.get("/mine/").content.decode()


def test_an_order_planned_within_its_promise_is_not_late(anyone, shop: Shop):
    order = shop.queued()
    forecast(order, order.promise)
    assert late_of(order) is None and "Late." not in anyone.get(f"/order/{order.token}/").content.decode()


def test_past_its_promise_an_order_is_late_without_any_forecast_until_it_is_ready(shop: Shop):
    order = shop.queued()
    Order.objects.filter(pk=order.pk).update(promise=timezone.localdate() - timedelta(days=1))
    order.refresh_from_db()
    assert late_of(order).plan_on is None
    order.state = Order.State.READY
    assert late_of(order) is None


def test_an_orders_calendar_has_promise_plan_and_payments_and_moves_with_them(anyone, shop: Shop):
    order = shop.order()
    later = order.promise + timedelta(days=9)
    forecast(order, later)
    days = calendar(anyone, order)
    assert days["promise"].startswith(str(order.promise)) and "late" in days["promise"]
    assert days["plan"].startswith(str(later)) and "deposit due" in days["pay-deposit"]
    shop.pay(order)
    assert "pay-deposit" not in calendar(anyone, order)


def test_the_calendar_of_a_dispatched_order_keeps_its_last_day(anyone, shop: Shop):
    assert list(calendar(anyone, shop.dispatched())) == ["dispatch"]


@pytest.mark.parametrize("word", ["x", "MQ:1abc:forged"])
def test_a_calendars_address_that_was_not_given_out_is_not_there(anyone, shop: Shop, word):
    assert anyone.get(f"/calendar/order/{word}.ics").status_code == 404


def test_a_calendars_address_does_not_open_the_order(shop: Shop):
    order = shop.order()
    assert order.token not in calendar_address(order)


def test_of_a_stage_done_again_only_the_last_trys_photographs_are_shown(anyone, shop: Shop):
    order = shop.queued()
    first = photographed(shop, order, "condition").record
    stage = order.propellers.get().stages.get(key="condition")
    redoing.do_again(shop.at_bench, stage, reason="Damp", now=shop.now)
    last = photographed(shop, order, "condition").record
    order.propellers.update(state="released")
    assert stage_of(order, "condition")["photographs"] == [last] and last != first
    got = [
        anyone.get(f"/order/{order.token}/photograph/{record.pk}/").status_code for record in (last, first)
    ]
    assert got == [200, 404]
