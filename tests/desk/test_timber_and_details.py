"""Timber and the workshop's entry at the desk: kept with an audit record, odd values told at their fields."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from orders.models import AuditRecord, TimberLot, Workshop
from orders.services import timber_waits
from tests.orders.shop import Shop
from tests.portal.pages import Fields

LOT = {
    "lot": "B-117",
    "timber_code": "yellow-birch",
    "boards": "14 boards 25 x 180 mm, 2.4 m",
    "board_feet": "180",
    "moisture": "9.4",
    "price": "1140.50",
    "remark": "from the mill",
}
DETAILS = {
    "name": "Ostermoor Airscrews",
    "street": "Yard 2",
    "postcode": "00001",
    "city": "Ostermoor",
    "country": "de",
    "email": "desk@shop.example",
    "phone": "0000 1",
    "tax_id": "DE000",
    "bank_details": "Ostermoor Airscrews, IBAN DE00 0000",
    "payment_days": "10",
    "quote_days": "21",
    "deposit_tax": "at delivery",
}


def add(owner: Client, shop: Shop, **typed: str):
    return owner.post(reverse("desk:timber-add"), {**LOT, "received_on": shop.today.isoformat(), **typed})


def test_a_lot_that_came_stands_on_the_shelf_and_in_the_audit(owner: Client, shop: Shop) -> None:
    assert add(owner, shop).status_code == 302
    lot = TimberLot.objects.get()
    assert (lot.board_feet, lot.moisture, lot.price) == (180, 94, 114_050)
    page = owner.get(reverse("desk:timber")).content.decode()
    assert "14 boards 25 x 180 mm" in page and 'value="1140.50"' in page and 'value="9.4"' in page
    record = AuditRecord.objects.get(subject="timber lot B-117")
    assert (record.verb, record.name, record.detail["board_feet"]) == ("add", "Owner", 180)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"lot": ""}, "lot"),
        ({"lot": "x" * 31}, "lot"),
        ({"timber_code": "balsa"}, "timber_code"),
        ({"board_feet": "0"}, "board_feet"),
        ({"board_feet": "\u0661\u0662"}, "board_feet"),
        ({"moisture": "9.45"}, "moisture"),
        ({"moisture": "101"}, "moisture"),
        ({"moisture": "0"}, "moisture"),
        ({"price": "-3"}, "price"),
        ({"received_on": "2099-01-01"}, "received_on"),
        ({"received_on": "soon"}, "received_on"),
    ],
)
def test_an_odd_value_is_told_at_its_field_and_nothing_is_kept(
    owner: Client, shop: Shop, typed, field
) -> None:
    response = add(owner, shop, **typed)
    fields = Fields(response.content.decode())
    assert (response.status_code, fields.invalid) == (422, {field})
    assert fields.values["remark"] == "from the mill"
    assert not TimberLot.objects.exists()


def test_a_day_that_has_not_come_is_refused(owner: Client, shop: Shop) -> None:
    response = add(owner, shop, received_on=(shop.today + timedelta(days=2)).isoformat())
    assert "has not come yet" in response.content.decode()


def test_a_lot_is_corrected_used_up_and_put_back(owner: Client, shop: Shop) -> None:
    add(owner, shop)
    lot = TimberLot.objects.get()
    typed = {**LOT, "received_on": lot.received_on.isoformat(), "board_feet": "160", "price": ""}
    assert owner.post(reverse("desk:timber-change", args=[lot.pk]), typed).status_code == 302
    assert owner.post(reverse("desk:timber-used-up", args=[lot.pk])).status_code == 302
    lot.refresh_from_db()
    assert (lot.board_feet, lot.price, lot.used_up_on is None) == (160, None, False)
    twice = owner.post(reverse("desk:timber-used-up", args=[lot.pk]), follow=True)
    assert "used up already" in twice.content.decode()
    owner.post(reverse("desk:timber-put-back", args=[lot.pk]))
    assert AuditRecord.objects.get(verb="change", subject="timber lot B-117").detail == {
        "board_feet": 160,
        "price": None,
    }


def test_no_second_lot_takes_the_same_number(owner: Client, shop: Shop) -> None:
    add(owner, shop)
    response = add(owner, shop, lot="b-117")
    assert Fields(response.content.decode()).invalid == {"lot"}


def test_who_waits_on_timber_is_told_with_what_is_on_the_shelf(owner: Client, shop: Shop) -> None:
    order = shop.queued()
    timber_waits.await_timber(shop.owner, order, now=shop.now)
    assert "none on the shelf" in owner.get(reverse("desk:timber")).content.decode()
    add(owner, shop)
    page = owner.get(reverse("desk:timber")).content.decode()
    assert order.number in page and "180 board feet of it are on the shelf" in page


def test_the_workshop_s_entry_is_kept_and_shown_to_customers(owner: Client, shop: Shop) -> None:
    assert owner.post(reverse("desk:details-change"), DETAILS).status_code == 302
    row = Workshop.objects.get()
    assert (row.name, row.country, row.payment_days) == ("Ostermoor Airscrews", "DE", 10)
    order = shop.order()
    assert "IBAN DE00 0000" in owner.get(f"/order/{order.token}/pay/deposit/").content.decode()
    changed = AuditRecord.objects.get(verb="change details").detail
    assert changed["name"] == ["Test Airscrews", "Ostermoor Airscrews"] and "city" not in changed


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"name": " "}, "name"),
        ({"country": "Germany"}, "country"),
        ({"country": "\u0414E"}, "country"),
        ({"email": "desk"}, "email"),
        ({"payment_days": "0"}, "payment_days"),
        ({"quote_days": "many"}, "quote_days"),
        ({"bank_details": "x" * 1001}, "bank_details"),
    ],
)
def test_an_odd_entry_is_told_at_its_field_and_the_old_one_stays(
    owner: Client, shop: Shop, typed, field
) -> None:
    before = list(Workshop.objects.values())
    response = owner.post(reverse("desk:details-change"), {**DETAILS, **typed})
    fields = Fields(response.content.decode())
    assert (response.status_code, fields.invalid) == (422, {field})
    assert fields.values["street"] == "Yard 2"
    assert list(Workshop.objects.values()) == before


def test_the_tax_of_deposits_does_not_change_under_an_order_that_has_paid_one(
    owner: Client, shop: Shop
) -> None:
    order = shop.queued()
    response = owner.post(reverse("desk:details-change"), {**DETAILS, "deposit_tax": "on receipt"})
    assert order.number in str(response.context["form"].errors["deposit_tax"])
    assert Workshop.objects.get().deposit_tax == "at delivery"
