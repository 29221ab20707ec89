"""A price book reads only what it knows, within bounds, and writes what it reads back to the same book."""

import json
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from quoting.pricing.book import PriceBook, Row
from quoting.pricing.entries import DEFINITIONS
from quoting.pricing.refusal import Refused
from tests.quoting.pricing.shapes import book

START = Path(__file__).parents[3] / "fixtures/start/price_book.json"


def rows(**changes: object) -> list[dict[str, object]]:
    """The starting rows, with fields of carve.per_litre changed."""
    return [dict(r) | (changes if r["key"] == "carve.per_litre" else {}) for r in book().to_rows()]


def read(given: list[dict[str, object]] | list[Row]) -> tuple[PriceBook | None, list[tuple[str, str]]]:
    found, findings = PriceBook.from_rows("2026-1", "EUR", date(2026, 1, 1), given)
    return found, [(f.code, f.field) for f in findings]


def test_rows_read_back_to_the_same_book() -> None:
    assert read(book().to_rows()) == (book(), [])


def test_the_first_book_of_a_workshop_reads_without_a_finding() -> None:
    first = json.loads(START.read_text())
    found, findings = PriceBook.from_rows(
        first["version"], first["currency"], date.fromisoformat(first["effective"]), first["entries"]
    )
    assert findings == ()
    assert found is not None and found.to_rows() == first["entries"]


def test_every_definition_starts_within_its_own_bounds_and_explains_itself() -> None:
    for definition in DEFINITIONS.values():
        assert definition.low <= definition.value <= definition.high
        assert definition.sentence.endswith(".") and len(definition.sentence) > 15


@pytest.mark.parametrize(
    "value", ["-1", "601", "NaN", "Infinity", "1e3", "1_000", "٣", "１２", "", "12,5", None, 2.5, True]
)
def test_a_value_that_is_no_plain_number_in_bounds_is_refused_at_its_key(value: object) -> None:
    found, findings = read(rows(value=value))
    assert found is None
    assert [field for _, field in findings] == ["carve.per_litre"]


def test_a_decimal_that_is_not_a_number_is_refused() -> None:
    assert read(rows(value=Decimal("NaN")))[1] == [("not-a-number", "carve.per_litre")]


def test_a_missing_an_unknown_and_a_doubled_entry_are_each_named() -> None:
    given = [r for r in rows() if r["key"] != "shop.rate"]
    given += [{"key": "tea.break", "value": "1"}, given[0]]
    assert read(given)[1] == [
        ("entry-unknown", "tea.break"),
        ("entry-doubled", "shop.temperature"),
        ("entry-missing", "shop.rate"),
    ]


def test_another_unit_is_refused() -> None:
    assert read(rows(unit="min/kg"))[1] == [("entry-unit", "carve.per_litre")]


def test_bounds_may_be_narrowed_but_not_widened() -> None:
    assert read(rows(low="5", high="12"))[1] == []
    assert read(rows(high="601"))[1] == [("out-of-bounds", "carve.per_litre")]
    assert read(rows(low="9", high="12"))[1] == [("out-of-bounds", "carve.per_litre")]


def test_a_quantity_break_wants_a_whole_number() -> None:
    assert read([*rows(), {"key": "quantity.break.five", "value": "5"}])[1] == [
        ("entry-unknown", "quantity.break.five")
    ]


def test_a_family_falls_back_to_its_other_entry() -> None:
    drafted = book(timber__price__cherry="16.5")
    assert drafted[drafted.key_for("timber.price", "cherry")] == Decimal("16.5")
    assert drafted.key_for("timber.price", "plum") == "timber.price.other"


def test_redrafting_leaves_the_old_book_alone() -> None:
    old = book()
    new = old.redrafted("2026-2", {"shop.rate": Decimal(20)})
    assert (old["shop.rate"], new["shop.rate"], new.version) == (Decimal(14), Decimal(20), "2026-2")
    with pytest.raises(Refused, match=r"shop\.rate"):
        old.redrafted("2026-2", {"shop.rate": Decimal(-1)})


def test_an_unknown_currency_is_refused() -> None:
    _, findings = PriceBook.from_rows("1", "XXX", date(2026, 1, 1), book().to_rows())
    assert [f.field for f in findings] == ["currency"]
