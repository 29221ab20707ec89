"""What the databases themselves keep, on a SQLite file and on PostgreSQL: sent quotes, books in force, gapless numbers."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

import pytest
from django.db import IntegrityError, InternalError, connections, transaction

from quoting.models import Counter, PriceBookEntry, PriceBookVersion, Quote
from quoting.services import quotes
from quoting.services.estimating import live_estimate
from quoting.services.numbering import take_number
from tests.quoting.books import TODAY

NOW = datetime(2026, 9, 14, 9, 30, 1, 234567, tzinfo=UTC)
SOUND = {
    "airframe": "piper-j-3c-65",
    "engine": "continental-a65-8f",
    "hub": "sae-1",
    "diameter": "72",
    "pitch": "44",
    "timber": "yellow-birch",
}
REFUSED = (IntegrityError, InternalError)


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def either(request: pytest.FixtureRequest, django_db_blocker) -> Iterator[None]:
    """The prepared shop with one quote drafted, once on each kind of database."""
    template = request.getfixturevalue(f"{request.param}_template")
    with django_db_blocker.unblock(), template.fresh():
        quotes.draft_quote(live_estimate(SOUND, today=TODAY).estimate, typed=SOUND, today=TODAY)
        yield


@pytest.fixture
def draft(either) -> Quote:
    return Quote.objects.get()


def send(quote: Quote) -> Quote:
    quote.refresh_from_db()
    sealed = {"issued_at": NOW, "expires_at": NOW + timedelta(days=30), "terms_version": "2026-1"}
    content_hash = quotes.content_hash(quote, **sealed)
    Quote.objects.filter(pk=quote.pk).update(state=Quote.State.SENT, content_hash=content_hash, **sealed)
    quote.refresh_from_db()
    return quote


def change(quote: Quote, **values) -> None:
    with transaction.atomic():
        Quote.objects.filter(pk=quote.pk).update(**values)


def test_a_sent_quote_reads_back_with_its_seal(draft):
    assert quotes.is_unaltered(send(draft))
    assert quotes.results_of(draft).price == live_estimate(SOUND, today=TODAY).estimate.price


def test_a_draft_may_change_and_go(draft):
    change(draft, message="Hello")
    draft.delete()
    assert not Quote.objects.exists()


def test_a_draft_is_not_accepted_before_it_is_sent(draft):
    with pytest.raises(REFUSED, match="sent before"):
        change(draft, state=Quote.State.LAPSED)


CONTENT = [
    {"gross_minor": 1, "net_minor": 1, "tax_minor": 0, "deposit_minor": 0, "balance_minor": 1},
    {"specification": {}},
    {"results": {}},
    {"typed": {}},
    {"message": "changed"},
    {"token": "known"},
    {"expires_at": NOW + timedelta(days=300)},
    {"content_hash": "0" * 64},
    {"promised_for": TODAY},
    {"revision": 9},
    {"state": Quote.State.DRAFTED},
]


def test_a_sent_quote_is_never_changed(draft):
    sent = send(draft)
    for values in CONTENT:
        with pytest.raises(REFUSED, match="never changed"):
            change(sent, **values)
    assert Quote.objects.filter(pk=sent.pk).values().get() == {
        name: value for name, value in vars(sent).items() if not name.startswith("_")
    }


def test_a_sent_quote_is_never_deleted(draft):
    sent = send(draft)
    with pytest.raises(REFUSED, match="never deleted"), transaction.atomic():
        sent.delete()


def test_a_decision_is_signed_once_and_stays(draft):
    sent = send(draft)
    signed = {"decided_at": NOW, "decided_by": "Ada Lark", "decision_hash": sent.content_hash}
    with pytest.raises(REFUSED):
        change(sent, state=Quote.State.ACCEPTED, **signed | {"decision_hash": "0" * 64})
    change(sent, state=Quote.State.ACCEPTED, **signed)
    for values in (
        {"decided_by": "Somebody"},
        {"state": Quote.State.DECLINED},
        {"state": Quote.State.SENT},
        {"state": Quote.State.SUPERSEDED, "decided_by": "Somebody"},
    ):
        with pytest.raises(REFUSED, match="never changed"):
            change(sent, **values)
    change(sent, state=Quote.State.SUPERSEDED)  # by the revision its order takes
    with pytest.raises(REFUSED, match="never changed"):
        change(sent, state=Quote.State.ACCEPTED)


def test_a_sent_quote_without_its_seal_is_refused(draft):
    with pytest.raises(REFUSED):
        change(draft, state=Quote.State.SENT)


def test_a_series_is_accepted_once(draft):
    estimate = live_estimate(SOUND, today=TODAY).estimate
    second = quotes.draft_quote(estimate, typed=SOUND, today=TODAY, series=draft.series)
    signed = {"state": Quote.State.ACCEPTED, "decided_at": NOW, "decided_by": "Ada Lark"}
    first = send(draft)
    change(first, decision_hash=first.content_hash, **signed)
    second = send(second)
    with pytest.raises(REFUSED):
        change(second, decision_hash=second.content_hash, **signed)


def test_totals_that_do_not_sum_are_refused(draft):
    with pytest.raises(REFUSED):
        change(draft, net_minor=draft.net_minor + 1)


EDITS = {
    "entry changed": lambda book: book.entries.filter(key="shop.rate").update(scaled=9),
    "entry deleted": lambda book: book.entries.filter(key="shop.rate").delete(),
    "entry added": lambda book: PriceBookEntry.objects.create(
        book=book, key="extra", scaled=1, low_scaled=0, high_scaled=2, decimals=0, unit="h", sentence="x"
    ),
    "currency changed": lambda book: PriceBookVersion.objects.filter(pk=book.pk).update(currency="USD"),
    "made a draft again": lambda book: PriceBookVersion.objects.filter(pk=book.pk).update(state="draft"),
}


def test_a_book_in_force_is_never_edited(either):
    for edit in EDITS.values():
        with pytest.raises(REFUSED, match="in force"), transaction.atomic():
            edit(PriceBookVersion.objects.get())


def test_a_book_in_force_is_never_deleted(either):
    Quote.objects.all().delete()
    with pytest.raises(REFUSED, match="in force"), transaction.atomic():
        PriceBookVersion.objects.get().delete()


def test_twenty_at_once_get_forty_numbers_without_a_gap(either):
    def take(_: int) -> int:
        try:
            with transaction.atomic():
                return take_number("test")
        finally:
            connections["default"].close()

    with ThreadPoolExecutor(20) as pool:
        taken = sorted(pool.map(take, range(40)))
    assert taken == list(range(1, 41))
    assert Counter.objects.get(name="test").last == 40


def test_a_number_outside_a_transaction_is_refused(either):
    with pytest.raises(transaction.TransactionManagementError):
        take_number("test")
