"""The price book at the desk: drafted, changed within bounds, compared, put in force; what is in force stays."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from orders import worker
from orders.desk.price_book_forms import EntriesForm, RepriceForm
from orders.models import AuditRecord, OutboxJob, Repricing
from quoting.models import PriceBookVersion
from quoting.pricing.book import starting_book
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


def page_of(client, version: PriceBookVersion):
    return client.get(f"/desk/price-book/{version.pk}/")


def try_out(client, version: PriceBookVersion, **chosen: object) -> Repricing:
    """Ask for a re-pricing and let the worker do it."""
    asked = client.post(
        f"/desk/price-book/{version.pk}/re-price/", chosen or {"states": ["sent"], "enquiries": "on"}
    )
    assert asked.status_code == 302
    worker.run_one(OutboxJob.objects.get(kind="reprice", state="waiting").pk)
    return Repricing.objects.filter(book=version).first()


def test_a_change_shows_at_once_what_sent_quotes_and_open_enquiries_would_cost(owner, shop: Shop):
    sent, enquiry, version = shop.sent_quote(), shop.enquiry(), drafted(owner)
    response = change(owner, version, **{KEY: "500"})
    assert response.headers["Location"] == f"/desk/price-book/{version.pk}/"
    shown = page_of(owner, version)
    found = {d.reference: d for d in shown.context["sample_outcome"].differences}
    assert set(found) == {sent.reference, enquiry.number}
    assert all(d.by_minutes.minor > 0 and d.by_rates.minor == 0 for d in found.values())
    assert [(key, old, new) for key, _, _, old, new in shown.context["changes"]] == [(KEY, "20", "500")]


def test_an_unchanged_draft_changes_no_price(owner, shop: Shop):
    sent = shop.sent_quote()
    shown = page_of(owner, drafted(owner))
    [difference] = shown.context["sample_outcome"].differences
    assert (difference.after, difference.before) == (sent.net, sent.net)
    assert shown.context["changes"] == []


def test_values_tried_while_typing_are_shown_and_not_kept(owner, shop: Shop):
    shop.sent_quote()
    version = drafted(owner)
    typed = {key: f"{entry.value:f}" for key, entry in book_of(version).entries.items()}
    tried = owner.post(f"/desk/price-book/{version.pk}/try/", typed | {KEY: "500"})
    [difference] = tried.context["sample_outcome"].differences
    assert difference.after.minor > difference.before.minor
    assert book_of(version)[KEY] == 20
    odd = owner.post(f"/desk/price-book/{version.pk}/try/", typed | {KEY: "9999999"})
    assert KEY in odd.content.decode() and "sample" not in odd.context


def test_the_worker_reprices_the_chosen_set_and_the_page_draws_how_it_lies(owner, shop: Shop):
    sent, enquiry, version = shop.sent_quote(), shop.enquiry(), drafted(owner)
    change(owner, version, **{KEY: "500"})
    run = try_out(owner, version)
    assert (run.state, run.done, run.total) == ("done", 2, 2)
    shown = page_of(owner, version)
    assert {d.reference for d in shown.context["whole"].differences} == {sent.reference, enquiry.number}
    for words in ("drawing-changes", "drawing-margins", "The bars as figures"):
        assert words in shown.content.decode()


def test_a_run_under_way_shows_its_progress_with_and_without_scripts(owner, shop: Shop):
    shop.sent_quote()
    version = drafted(owner)
    owner.post(f"/desk/price-book/{version.pk}/re-price/", {"states": ["sent"]})
    page = page_of(owner, version).content.decode()
    assert '<progress id="run-progress" max="1" value="0">' in page
    assert '<noscript><meta http-equiv="refresh"' in page and "/re-pricing/" in page
    part = owner.get(f"/desk/price-book/{version.pk}/re-pricing/").content.decode()
    assert "<progress" in part and "<html" not in part
    again = owner.post(f"/desk/price-book/{version.pk}/re-price/", {"states": ["sent"]})
    assert again.status_code == 422 and "under way" in again.content.decode()


@pytest.mark.parametrize(
    ("chosen", "field"),
    [
        ({"numbers": "Q" * 5000}, "numbers"),
        ({"sent_from": "yesterday"}, "sent_from"),
        ({"sent_from": "\u0662\u0660\u0662\u0666-01-01"}, "sent_from"),
        ({"sent_from": "2026-02-01", "sent_to": "2026-01-01"}, "sent_to"),
        ({"states": ["drafted"]}, "states"),
    ],
)
def test_a_set_that_cannot_be_chosen_is_refused_at_its_field(chosen, field):
    assert set(RepriceForm(chosen).errors) == {field}


def test_an_unknown_number_is_refused_at_the_numbers_and_kept(owner, shop: Shop):
    shop.sent_quote()
    version = drafted(owner)
    response = owner.post(f"/desk/price-book/{version.pk}/re-price/", {"numbers": "Q-1900-0001"})
    fields = Fields(response.content.decode())
    assert (response.status_code, fields.invalid) == (422, {"numbers"})
    assert fields.values["numbers"] == "Q-1900-0001" and not Repricing.objects.exists()


def test_quotes_chosen_by_number_stand_alone(owner, shop: Shop):
    first, _, version = shop.sent_quote(), shop.sent_quote(), drafted(owner)
    run = try_out(owner, version, states=["sent"], enquiries="on", numbers=first.series.number)
    assert run.quotes == [first.pk] and run.enquiries == []


def test_a_draft_is_put_in_force_only_after_it_was_tried_as_it_stands(owner, shop: Shop):
    shop.sent_quote()
    version, day = drafted(owner), (shop.today + timedelta(days=2)).isoformat()
    assert in_force(owner, version, day).status_code == 422
    try_out(owner, version)
    change(owner, version, **{KEY: "33"})
    assert in_force(owner, version, day).status_code == 422
    try_out(owner, version)
    assert in_force(owner, version, day).status_code == 302
    version.refresh_from_db()
    assert version.state == "in force"


def test_an_entry_of_a_family_is_added_and_taken_out_of_a_draft(owner, shop: Shop):
    version = drafted(owner)
    add = {"family": "quantity.break.*", "code": "5", "value": "4"}
    owner.post(f"/desk/price-book/{version.pk}/add/", add)
    assert book_of(version)["quantity.break.5"] == 4
    owner.post(f"/desk/price-book/{version.pk}/take-out/", {"key": "quantity.break.5"})
    assert "quantity.break.5" not in book_of(version).entries
    for key in ("labour.rate.other", "sand.setup"):
        assert owner.post(f"/desk/price-book/{version.pk}/take-out/", {"key": key}).status_code == 422


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"code": "five"}, "code"),
        ({"code": "<b>"}, "code"),
        ({"value": "99"}, "value"),
        ({"value": "NaN"}, "value"),
        ({"code": ""}, "code"),
    ],
)
def test_an_odd_entry_is_refused_at_its_field(owner, shop: Shop, typed, field):
    version = drafted(owner)
    whole = {"family": "quantity.break.*", "code": "5", "value": "4"} | typed
    response = owner.post(f"/desk/price-book/{version.pk}/add/", whole)
    assert (response.status_code, Fields(response.content.decode()).invalid) == (422, {field})
    assert book_of(version).entries == book_of(current_version(shop.today)).entries


@pytest.mark.parametrize(
    "typed", ["", "-1", "1e2", "NaN", "1,5", "999999999", "\u0661\u0662", "\N{AIRPLANE}", "1" * 40]
)
def test_an_odd_value_is_refused_at_its_entry(typed):
    book = starting_book("1", "EUR", date(2026, 1, 1))
    whole = {key: f"{entry.value:f}" for key, entry in book.entries.items()}
    assert set(EntriesForm(whole | {KEY: typed}, book=book).errors) == {KEY}


def test_an_odd_value_on_the_page_keeps_every_value_typed_and_changes_none(owner, shop: Shop):
    version = drafted(owner)
    response = change(owner, version, **{KEY: "1e2", "sand.setup": "77"})
    fields = Fields(response.content.decode())
    assert (response.status_code, fields.invalid) == (422, {KEY})
    assert (fields.values[KEY], fields.values["sand.setup"]) == ("1e2", "77")
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
        'method="post"'
        not in owner.get(f"/desk/price-book/{version.pk}/")
        .content.decode()
        .split("<main", 1)[-1]
        .split("</main", 1)[0]
    )
    response = change(owner, version, **{KEY: "33"})
    assert response.status_code == 422 and "draft a new one" in response.content.decode()
    assert book_of(version)[KEY] == 20


def test_an_entry_of_a_book_is_found_by_its_meaning(owner, shop: Shop):
    book = PriceBookVersion.objects.get()
    page = owner.get(reverse("desk:price-book", args=[book.pk]), {"find": "mark-up timber"})
    [(_, entries)] = page.context["read"]
    assert entries and all("timber" in entry.sentence for entry in entries)
    assert "No entry speaks of" in owner.get(f"/desk/price-book/{book.pk}/?find=zeppelin").content.decode()
