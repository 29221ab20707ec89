"""The price book at the desk: drafted, changed within bounds, compared, put in force; what is in force stays."""

from datetime import timedelta

import pytest

from orders.models import AuditRecord
from quoting.models import PriceBookVersion
from quoting.services.pricebook import book_of, current_version
from tests.orders.shop import Shop
from tests.portal.pages import Fields

KEY = "laminate.setup"


def drafted(client) -> PriceBookVersion:
    client.post("/desk/price-book/draft/")
    return PriceBookVersion.objects.get(state="draft")


def change(client, version: PriceBookVersion, **values: str):
    typed = {key: f"{entry.value:f}" for key, entry in book_of(version).entries.items()}
    return client.post(f"/desk/price-book/{version.pk}/change/", typed | values)


def in_force(client, version: PriceBookVersion, day: str):
    return client.post(f"/desk/price-book/{version.pk}/in-force/", {"effective_from": day})


def test_a_draft_holds_the_values_of_the_book_in_force_and_is_listed(owner, shop: Shop):
    version = drafted(owner)
    assert book_of(version).entries == book_of(current_version(shop.today)).entries
    page = owner.get("/desk/price-book/").content.decode()
    assert f'href="/desk/price-book/{version.pk}/"' in page and "2026-1" in page


def test_a_change_shows_at_once_what_sent_quotes_and_open_enquiries_would_cost(owner, shop: Shop):
    sent, enquiry, version = shop.sent_quote(), shop.enquiry(), drafted(owner)
    response = change(owner, version, **{KEY: "500"})
    assert response.headers["Location"] == f"/desk/price-book/{version.pk}/"
    shown = owner.get(f"/desk/price-book/{version.pk}/")
    found = {d.reference: d for d in shown.context["found"].outcome.differences}
    assert set(found) == {sent.reference, enquiry.number}
    assert all(d.by_minutes.minor > 0 and d.by_rates.minor == 0 for d in found.values())
    assert "drawing-changes" in shown.content.decode()


def test_an_unchanged_draft_changes_no_price(owner, shop: Shop):
    sent = shop.sent_quote()
    shown = owner.get(f"/desk/price-book/{drafted(owner).pk}/")
    [difference] = shown.context["found"].outcome.differences
    assert (difference.after, difference.before) == (sent.net, sent.net)


@pytest.mark.parametrize(
    "typed", ["", "-1", "1e2", "NaN", "1,5", "999999999", "\u0661\u0662", "\N{AIRPLANE}", "1" * 40]
)
def test_an_odd_value_is_refused_at_its_entry_and_no_value_is_changed(owner, shop: Shop, typed):
    version = drafted(owner)
    response = change(owner, version, **{KEY: typed, "sand.setup": "77"})
    fields = Fields(response.content.decode())
    assert (response.status_code, fields.invalid) == (422, {KEY})
    assert (fields.values[KEY], fields.values["sand.setup"]) == (typed, "77")
    assert book_of(version).entries == book_of(current_version(shop.today)).entries


def test_a_book_is_put_in_force_from_a_day_and_the_audit_tells_who_changed_what(owner, shop: Shop):
    version, day = drafted(owner), shop.today + timedelta(days=7)
    change(owner, version, **{KEY: "33"})
    assert in_force(owner, version, day.isoformat()).status_code == 302
    assert current_version(shop.today).version == "2026-1"
    assert current_version(day) == version and book_of(version)[KEY] == 33
    assert AuditRecord.objects.get(verb="change", subject=f"price book {version.version}").detail == {
        KEY: ["20", "33"]
    }


@pytest.mark.parametrize(
    "day", ["", "2026-01-01", "9999-01-01", "tomorrow", "\u0662\u0660\u0663\u0660-01-01"]
)
def test_a_day_past_taken_far_or_odd_is_refused_at_the_day(owner, shop: Shop, day):
    version = drafted(owner)
    response = in_force(owner, version, day)
    version.refresh_from_db()
    assert (response.status_code, Fields(response.content.decode()).invalid) == (422, {"effective_from"})
    assert version.is_draft


def test_a_day_another_book_has_taken_is_refused(owner, shop: Shop):
    day = (shop.today + timedelta(days=3)).isoformat()
    in_force(owner, drafted(owner), day)
    second = drafted(owner)
    assert Fields(in_force(owner, second, day).content.decode()).invalid == {"effective_from"}
    second.refresh_from_db()
    assert second.is_draft


def test_a_book_in_force_is_read_and_never_changed(owner, shop: Shop):
    version = current_version(shop.today)
    assert (
        "<input"
        not in owner.get(f"/desk/price-book/{version.pk}/")
        .content.decode()
        .split("<main", 1)[-1]
        .split("</main", 1)[0]
    )
    response = change(owner, version, **{KEY: "33"})
    assert response.status_code == 422 and "draft a new one" in response.content.decode()
    assert book_of(version)[KEY] == 20
