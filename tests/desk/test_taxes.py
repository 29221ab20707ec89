"""The tax table at the desk: a rate added ends the one before, two never claim the same lines, quotes take the day's."""

from datetime import timedelta

import pytest

from quoting.models import Quote, TaxRate
from tests.orders.shop import Shop
from tests.portal.pages import Fields

RATE = {"country": "DE", "code": "DE-general", "label": "VAT", "percent": "21.5", "categories": []}


def add(client, shop: Shop, **changes: object):
    tomorrow = (shop.today + timedelta(days=1)).isoformat()
    return client.post("/desk/taxes/add/", {**RATE, "valid_from": tomorrow, **changes})


def test_a_new_rate_under_a_code_ends_the_old_one_the_day_before(owner, shop: Shop):
    assert add(owner, shop).status_code == 302
    old, new = TaxRate.objects.filter(country="DE").order_by("valid_from")
    assert (old.valid_to, new.percent_milli) == (shop.today, 21_500)
    page = owner.get("/desk/taxes/").content.decode()
    assert "21.5" in page and "to come" in page


def test_quotes_from_its_day_on_take_the_rate_and_those_before_keep_theirs(owner, shop: Shop):
    before = shop.sent_quote()
    add(owner, shop, valid_from=shop.today.isoformat())
    after = shop.sent_quote()
    rates = [q.results["price"]["taxes"][0]["percent"] for q in (before, after)]
    assert rates == ["19.000", "21.500"]
    assert Quote.objects.get(pk=before.pk).tax_minor == before.tax_minor


def test_a_rate_for_some_kinds_of_lines_stands_beside_the_general_one(owner, shop: Shop):
    form = {
        "code": "DE-freight",
        "percent": "7",
        "categories": ["freight"],
        "valid_from": shop.today.isoformat(),
    }
    assert add(owner, shop, **form).status_code == 302
    codes = {line["category"]: line["tax_code"] for line in shop.sent_quote().results["price"]["lines"]}
    assert (codes["freight"], codes["labour"]) == ("DE-freight", "DE-general")


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"country": "Germany"}, "country"),
        ({"country": "\u0414E"}, "country"),
        ({"percent": "101"}, "percent"),
        ({"percent": "-1"}, "percent"),
        ({"percent": "NaN"}, "percent"),
        ({"percent": "7.1234"}, "percent"),
        ({"code": "DE-other"}, "code"),
        ({"label": ""}, "label"),
        ({"valid_from": "2019-01-01"}, "valid_from"),
        ({"valid_from": "soon"}, "valid_from"),
    ],
)
def test_an_odd_rate_is_refused_at_its_field_and_the_table_stays(owner, shop: Shop, typed, field):
    before = list(TaxRate.objects.values())
    response = add(owner, shop, **typed)
    fields = Fields(response.content.decode())
    assert (response.status_code, fields.invalid) == (422, {field})
    assert fields.values[field] == typed[field]
    assert list(TaxRate.objects.values()) == before


def test_a_rate_is_ended_on_a_day_that_is_not_past(owner, shop: Shop):
    rate = TaxRate.objects.get(country="DE")
    path = f"/desk/taxes/{rate.pk}/end/"
    assert owner.post(path, {"valid_to": "2026-01-01"}).status_code == 422
    assert owner.post(path, {"valid_to": shop.today.isoformat()}).status_code == 302
    rate.refresh_from_db()
    assert rate.valid_to == shop.today


def test_the_bookkeeper_reads_the_table_and_cannot_change_it(bookkeeper, shop: Shop):
    page = bookkeeper.get("/desk/taxes/").content.decode()
    assert "everywhere else" in page and "Add the rate" not in page
    assert add(bookkeeper, shop).status_code == 403
