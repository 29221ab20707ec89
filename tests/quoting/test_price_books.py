"""Price books in rows: exact numbers, one in force on a day, drafts alone may change."""

from datetime import date
from decimal import Decimal

import pytest

from quoting.pricing.book import starting_book
from quoting.pricing.refusal import Refused
from quoting.services import pricebook
from tests.quoting.books import TODAY, drafted, in_force, set_up_shop

pytestmark = pytest.mark.django_db


def test_a_stored_book_reads_back_equal():
    stored = pricebook.book_of(drafted())
    assert dict(stored.entries) == dict(starting_book("2026-1", "EUR", TODAY).entries)
    assert stored["boss.sander"] == Decimal("6.25")


def test_no_book_in_force_is_said_so():
    drafted()
    with pytest.raises(pricebook.NoPriceBook, match="2026-09-14"):
        pricebook.current_book(TODAY)


def test_the_book_in_force_changes_on_its_day():
    in_force("2026-1", date(2026, 1, 1))
    in_force("2026-2", date(2026, 10, 1))
    assert pricebook.current_book(date(2026, 9, 30)).version == "2026-1"
    assert pricebook.current_book(date(2026, 10, 1)).version == "2026-2"


def test_two_books_cannot_begin_on_one_day():
    in_force("2026-1", date(2026, 1, 1))
    with pytest.raises(ValueError, match="another price book"):
        in_force("2026-2", date(2026, 1, 1))


def test_a_draft_changes_a_value_within_its_bounds():
    draft = drafted()
    pricebook.change_draft(draft, {"shop.rate": Decimal("15.5")})
    assert pricebook.book_of(draft)["shop.rate"] == Decimal("15.5")
    with pytest.raises(Refused, match="shop.rate"):
        pricebook.change_draft(draft, {"shop.rate": Decimal(-1)})
    assert pricebook.book_of(draft)["shop.rate"] == Decimal("15.5")


def test_a_draft_from_a_book_in_force_leaves_it_alone():
    book = in_force()
    draft = pricebook.draft_from(book, "2027-1", {"shop.rate": Decimal(20)})
    assert pricebook.book_of(draft)["shop.rate"] == 20
    assert pricebook.book_of(book)["shop.rate"] == 14


def test_a_draft_with_a_missing_entry_is_not_put_in_force():
    draft = drafted()
    draft.entries.filter(key="shop.rate").delete()
    with pytest.raises(pricebook.BookRefused, match="shop.rate"):
        pricebook.put_in_force(draft, TODAY)
    draft.refresh_from_db()
    assert draft.is_draft


def test_a_book_is_put_in_force_once():
    book = in_force("2026-1", date(2026, 1, 1))
    with pytest.raises(ValueError, match="no draft"):
        pricebook.put_in_force(book, date(2026, 2, 1))


def test_a_book_once_read_costs_one_query(django_assert_num_queries):
    in_force()
    pricebook.current_book(TODAY)
    with django_assert_num_queries(1):
        pricebook.current_book(TODAY)


def test_zones_and_taxes_answer_for_a_country():
    set_up_shop()
    assert pricebook.zone_for("DE") == "home"
    assert pricebook.zone_for("NZ") == "far"
    assert pricebook.home_country() == "DE"
    assert {(row.country, row.percent) for row in pricebook.tax_rows()} == {
        ("DE", Decimal(19)),
        ("*", Decimal(0)),
    }
