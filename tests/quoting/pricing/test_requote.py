"""Stored lines give the same totals for ever; what comes out otherwise is listed with its cause."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from quoting.pricing.lines import Price
from quoting.pricing.minutes import work_content
from quoting.pricing.money import Money
from quoting.pricing.requote import Versions, compare_measures, compare_prices, compare_work, rework
from quoting.pricing.terms import Discount
from tests.quoting.pricing.shapes import book, measures, priced, terms
from tests.quoting.samples import specification

THEN, NOW = Versions("1", "1"), Versions("2", "2")


def tampered(found: Price, key: str, **changes: Any) -> Price:
    return replace(found, lines=tuple(replace(n, **changes) if n.key == key else n for n in found.lines))


def test_a_stored_price_works_out_again() -> None:
    assert rework(priced(on=terms(insured=True, discount=Discount("spring", percent=Decimal("7.5"))))) == ()


@pytest.mark.parametrize("changes", [{"quantity": Decimal(1)}, {"rate": Decimal(1)}])
def test_another_quantity_or_rate_on_a_line_is_found_and_unexplained(changes: dict[str, Decimal]) -> None:
    found = rework(tampered(priced(), "timber", **changes))
    assert [d.what for d in found] == ["timber"]
    assert not found[0].is_explained


def test_another_net_on_a_line_is_found_there_and_in_the_sums() -> None:
    found = rework(tampered(priced(), "timber", net=Money(Decimal("1.00"), "EUR")))
    assert [d.what for d in found] == ["timber", "base of S", "tax of S", "net"]


@pytest.mark.parametrize("total", ["net", "tax", "gross", "deposit", "balance", "cost"])
def test_another_total_is_found(total: str) -> None:
    assert rework(replace(priced(), **{total: Money(Decimal("1.00"), "EUR")})) != ()


def test_a_line_of_a_tax_nobody_knows_is_found() -> None:
    assert "no tax of that code" in {d.anew for d in rework(tampered(priced(), "timber", tax_code="X"))}


def test_measures_that_differ_are_explained_by_another_model_alone() -> None:
    anew = measures(mass=4.4)
    assert [d.cause for d in compare_measures(measures(), anew, THEN, NOW)] == ["propeller model 1, now 2"]
    same = compare_measures(measures(), anew, THEN, THEN)
    assert [(d.what, d.stored, d.anew, d.is_explained) for d in same] == [("mass", "4.3", "4.4", False)]
    assert compare_measures(measures(), measures(), THEN, THEN) == ()


def test_minutes_that_differ_are_listed_by_stage_with_their_cause() -> None:
    stored = work_content(measures(), specification(), book())
    anew = work_content(measures(wood_removed=0.02), specification(), book())
    assert compare_work(stored, stored, THEN, THEN) == ()
    unexplained = compare_work(stored, anew, THEN, THEN)
    assert [(d.what, d.stored, d.is_explained) for d in unexplained] == [
        ("rough-carve", "150 min, wait 0 min", False)
    ]
    assert compare_work(stored, anew, THEN, THEN, measures_differ=True)[0].cause == "the measures above"
    assert compare_work(stored, anew, THEN, NOW)[0].cause == "pricing formulas 1, now 2"


def test_a_stage_that_came_or_went_is_listed() -> None:
    stored = work_content(measures(), specification(), book())
    assert [(d.what, d.anew) for d in compare_work(stored, stored[:-1], THEN, THEN)] == [("crate", "none")]


def test_prices_that_differ_are_listed_by_line_and_total() -> None:
    found = compare_prices(priced(), priced(measures(board_feet=12.0)), THEN, THEN)
    assert [d.what for d in found][0] == "timber"
    assert {"net", "gross"} <= {d.what for d in found}
    assert not any(d.is_explained for d in found)
    assert compare_prices(priced(), priced(), THEN, THEN) == ()


@pytest.mark.parametrize(("by", "explained"), [(1 + 4e-16, True), (1 + 1e-9, False), (1.01, False)])
def test_only_the_last_digits_of_a_figure_are_put_down_to_another_processor(
    by: float, explained: bool
) -> None:
    stored = measures()
    found = compare_measures(stored, replace(stored, mass=stored.mass * by), NOW, NOW)
    assert [(d.what, d.is_explained) for d in found] == [("mass", explained)]
