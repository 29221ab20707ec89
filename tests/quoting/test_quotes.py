"""Quotes in rows: numbered without gaps, whole in themselves, and kept by the database from the moment they are sent."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import transaction

from quoting.models import Quote, QuoteSeries
from quoting.pricing.money import Money
from quoting.propeller.finding import Finding, Severity
from quoting.services import quotes
from quoting.services.catalogue_load import load_catalogue
from quoting.services.estimating import live_estimate
from quoting.services.numbering import take_number
from quoting.services.serial import digest
from tests.quoting.books import FOLDER, TODAY, set_up_shop

NOW = datetime(2026, 9, 14, 9, 30, 1, 234567, tzinfo=UTC)
SOUND = {
    "airframe": "piper-j-3c-65",
    "engine": "continental-a65-8f",
    "hub": "sae-1",
    "diameter": "72",
    "pitch": "44",
    "timber": "yellow-birch",
    "decal_text": "Nº 7",
}


@pytest.fixture
def shop(db) -> None:
    load_catalogue(FOLDER)
    set_up_shop()


@pytest.fixture
def draft(shop) -> Quote:
    return quotes.draft_quote(live_estimate(SOUND, today=TODAY).estimate, typed=SOUND, today=TODAY)


def send(quote: Quote) -> Quote:
    quote.refresh_from_db()
    sealed = {"issued_at": NOW, "expires_at": NOW + timedelta(days=30), "terms_version": "2026-1"}
    content_hash = quotes.content_hash(quote, **sealed)
    Quote.objects.filter(pk=quote.pk).update(state=Quote.State.SENT, content_hash=content_hash, **sealed)
    quote.refresh_from_db()
    return quote


def test_a_draft_holds_the_estimate_to_the_cent(draft):
    estimate = live_estimate(SOUND, today=TODAY).estimate
    draft.refresh_from_db()
    assert (draft.gross, draft.deposit, draft.cost) == (
        estimate.price.gross,
        estimate.price.deposit,
        estimate.price.cost,
    )
    results = quotes.results_of(draft)
    assert results.price == estimate.price
    assert results.work == estimate.work
    assert results.measures == estimate.assessment.measures
    assert results.forecast.plan_on == draft.promised_for
    assert (draft.reference, draft.typed) == ("Q-2026-0001 rev 1", SOUND)


def test_a_stored_specification_stands_alone(draft):
    estimate = live_estimate(SOUND, today=TODAY).estimate
    draft.refresh_from_db()
    assert quotes.specification_of(draft) == estimate.specification
    assert draft.specification["timber"]["modulus_of_rupture"]["source"].startswith("Wood Handbook")


def test_findings_shown_are_findings_stored(shop):
    shown = (Finding("x", Severity.CAUTION, "hub", 1.5, 2.0, "mm", "Measure it.", "here"),)
    estimate = live_estimate(SOUND, today=TODAY).estimate
    quote = quotes.draft_quote(estimate, typed=SOUND, today=TODAY, findings=shown)
    quote.refresh_from_db()
    assert quotes.results_of(quote).findings == shown


def test_an_estimate_without_a_price_makes_no_quote(shop):
    sizeless = {**SOUND, "wish": "recommend", "diameter": "", "pitch": ""}
    estimate = live_estimate(sizeless, today=TODAY).estimate
    priceless = type(estimate)(estimate.assessment, (), (), None, None, "2026-1", "1", TODAY)
    with pytest.raises(quotes.NothingToQuote):
        quotes.draft_quote(priceless, typed=SOUND, today=TODAY)
    assert not QuoteSeries.objects.exists()


def test_revisions_count_up_within_their_series(draft):
    estimate = live_estimate(SOUND, today=TODAY).estimate
    second = quotes.draft_quote(estimate, typed=SOUND, today=TODAY, series=draft.series)
    other = quotes.draft_quote(estimate, typed=SOUND, today=TODAY)
    assert (second.reference, other.reference) == ("Q-2026-0001 rev 2", "Q-2026-0002 rev 1")
    assert len({draft.token, second.token, other.token}) == 3
    assert len(draft.token) >= 32


def test_the_seal_covers_what_is_shown(draft):
    sent = send(draft)
    assert quotes.is_unaltered(sent)
    sent.message = "another"
    assert not quotes.is_unaltered(sent)
    sent.message = ""
    sent.gross_minor += 1
    assert not quotes.is_unaltered(sent)


def test_an_open_quote_closes_at_its_expiry(draft):
    sent = send(draft)
    assert sent.is_open(sent.expires_at)
    assert not sent.is_open(sent.expires_at + timedelta(microseconds=1))
    assert sent.gross == Money.from_minor(sent.gross_minor, "EUR")


def test_a_number_is_given_back_by_a_rollback(db):
    with transaction.atomic():
        assert take_number("test") == 1
    with pytest.raises(RuntimeError), transaction.atomic():
        take_number("test")
        raise RuntimeError
    with transaction.atomic():
        assert take_number("test") == 2


def test_digests_do_not_depend_on_order():
    assert digest({"a": 1, "b": [1.5, "ä"]}) == digest({"b": [1.5, "ä"], "a": 1})
    assert digest({"a": 1}) != digest({"a": 2})
