"""A draft price book shows what it would change before it is put in force."""

import time
from dataclasses import replace
from decimal import Decimal

import pytest

from quoting.pricing.minutes import work_content
from quoting.pricing.money import Money
from quoting.pricing.reprice import Quoted, outcome, reprice, reprice_all, spread
from quoting.pricing.terms import Override
from tests.quoting.pricing.shapes import book, measures, priced, terms
from tests.quoting.samples import specification


def quoted(reference: str = "Q-2026-0001 rev 1", scale: float = 1.0, **on: object) -> Quoted:
    shape = measures(board_feet=9.6 * scale, wood_removed=0.0163 * scale)
    work = work_content(shape, specification(), book())
    return Quoted(reference, shape, specification(), work, terms(**on), priced(shape, on=terms(**on)))


def many(count: int) -> list[Quoted]:
    return [quoted(f"Q-2026-{n:04d} rev 1", 1 + n / count) for n in range(count)]


def test_the_same_book_changes_nothing() -> None:
    found = outcome(reprice_all(many(20), book("2026-2")), "EUR")
    assert {d.change for d in found.differences} == {Money.zero("EUR")}
    assert found.total_after == found.total_before
    assert found.changes is not None and found.changes.counts == (20,)


def test_a_change_is_told_apart_into_rates_and_minutes() -> None:
    found = reprice(quoted(), book("2026-2", carve__per_litre=12, timber__price__other=20))
    assert found.by_rates == Money(Decimal("113.00"), "EUR")  # 14.40 bf at 7.80 more, to whole units
    assert found.by_minutes is not None and found.by_minutes.amount > 0
    assert found.change == found.by_rates + found.by_minutes


def test_quotes_the_draft_cannot_price_are_named_with_the_reason() -> None:
    lost = replace(
        quoted("Q-2026-0007 rev 1"), terms=terms(overrides=(Override("guard", "x", rate=Decimal(1)),))
    )
    foreign = reprice(quoted(), book("2026-2", "GBP"))
    found = outcome(reprice_all([quoted(), lost], book("2026-2")), "EUR")
    assert [(d.reference, "overrides.guard" in d.problem) for d in found.problems] == [
        ("Q-2026-0007 rev 1", True)
    ]
    assert foreign.change is None and "GBP" in foreign.problem


def test_the_spread_covers_every_quote_once() -> None:
    found = outcome(reprice_all(many(30), book("2026-2", timber__price__other=20)), "EUR")
    assert found.changes is not None and found.margins_after is not None
    assert sum(found.changes.counts) == sum(found.margins_after.counts) == 30
    ordered = [
        found.changes.least,
        found.changes.lower,
        found.changes.middle,
        found.changes.upper,
        found.changes.most,
    ]
    assert (
        ordered == sorted(ordered)
        and found.changes.edges[0] == ordered[0] < ordered[-1] == found.changes.edges[-1]
    )


def test_quartiles_are_the_medians_of_the_halves() -> None:
    found = spread([Decimal(n) for n in (1, 2, 3, 4, 5, 6)], 5)
    assert found is not None
    assert (found.lower, found.middle, found.upper) == (Decimal(2), Decimal("3.5"), Decimal(5))
    assert found.counts == (1, 1, 1, 1, 2)


def test_no_quotes_have_no_spread() -> None:
    found = outcome([], "EUR")
    assert (found.changes, found.total_after) == (None, Money.zero("EUR"))


def test_differences_come_one_by_one() -> None:
    flow = reprice_all(iter(many(3)), book("2026-2"))
    assert [next(flow).reference for _ in range(3)] == [f"Q-2026-{n:04d} rev 1" for n in range(3)]


@pytest.mark.slow
def test_a_thousand_quotes_are_priced_again_within_ten_seconds() -> None:
    quotes = many(1000)
    began = time.process_time()
    assert len(outcome(reprice_all(quotes, book("2026-2", carve__per_litre=12)), "EUR").differences) == 1000
    assert time.process_time() - began < 10
