"""Prices explain themselves, and what cannot be priced is refused at its field."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from quoting.pricing.lines import Category, Line, Price
from quoting.pricing.money import Money
from quoting.pricing.refusal import Refused
from quoting.pricing.summary import summary
from quoting.pricing.tax import TaxRow
from quoting.pricing.terms import DepositRule, Discount, Extra, Override, QuantityBreak
from tests.quoting.pricing.shapes import book, measures, priced, tax_rows, terms
from tests.quoting.samples import specification

DAY = date(2026, 6, 1)


def euro(amount: str) -> Money:
    return Money(Decimal(amount), "EUR")


def line(found: Price, key: str) -> Line:
    return next(n for n in found.lines if n.key == key)


def refused(**changes: Any) -> str:
    with pytest.raises(Refused) as caught:
        priced(on=terms(**changes))
    return caught.value.finding.field


def test_every_line_says_where_its_quantity_and_its_rate_came_from() -> None:
    found = priced(on=terms(insured=True, discount=Discount("spring", percent=Decimal(5))))
    for each in found.lines:
        origins = " ".join(w.origin for w in each.workings)
        assert "price book 2026-1" in origins or "owner: spring" in origins, each.key
        assert all(w.name and w.origin for w in each.workings)


def test_a_labour_line_opens_to_the_geometry_it_was_worked_from() -> None:
    origins = [w.origin for w in line(priced(), "labour.rough-carve").workings]
    assert "geometry: wood_removed" in origins
    assert "price book 2026-1: carve.per_litre" in origins
    assert "catalogue: timber yellow-birch (common practice)" in origins


def test_a_customer_sees_what_a_line_was_worked_from_but_neither_cost_nor_markup() -> None:
    found = priced(on=terms(insured=True), under=book(margin__least=40))
    shown = [w for each in found.lines for w in each.open_workings]
    assert "geometry: wood_removed" in {w.origin for w in shown}
    told = [
        w
        for w in shown
        if "markup" in w.origin or "margin" in w.origin or "cost" in w.name or w.unit == "EUR/h"
    ]
    assert told == []
    assert sum(len(each.workings) for each in found.lines) > len(shown) + 40


def test_margin_is_what_is_left_above_cost() -> None:
    found = priced()
    assert found.margin == found.net - found.cost
    assert Decimal(0) < found.margin.amount / found.net.amount < Decimal("0.5")


def test_a_typical_propeller_costs_what_a_small_shop_can_live_on() -> None:
    assert euro("1000.00") < priced().net < euro("2000.00")


def test_the_summary_shows_timber_work_varnish_and_sending_and_sums_to_the_net() -> None:
    found = summary(priced())
    assert [s.key for s in found] == ["timber", "finish", "work", "sending", "rounding"]
    assert next(s for s in found if s.key == "work").quantity == Decimal("16.05")
    assert sum(s.amount.amount for s in found) == priced().net.amount


def test_an_owners_change_keeps_its_reason_on_the_line() -> None:
    found = line(
        priced(on=terms(overrides=(Override("timber", "offcuts in stock", rate=Decimal(4)),))), "timber"
    )
    assert (found.net, found.reason) == (euro("57.60"), "offcuts in stock")
    assert found.workings[-1].origin == "owner: offcuts in stock"


def test_an_added_line_counts_and_one_may_give_money_back() -> None:
    spinner = Extra(
        "spinner", Category.OPTION, "spinner fitted", Decimal(1), "piece", Decimal(80), Decimal(50), "asked"
    )
    sorry = Extra(
        "sorry", Category.OPTION, "for the delay", Decimal(-1), "lump", Decimal(30), Decimal(0), "late reply"
    )
    found = priced(on=terms(extras=(spinner, sorry)))
    assert (line(found, "extra.spinner").net, line(found, "extra.sorry").net) == (
        euro("80.00"),
        euro("-30.00"),
    )
    assert found.net == priced().net + euro("50.00")


def test_a_discount_is_shared_over_two_rates_by_their_bases() -> None:
    reduced = TaxRow("GB", "R", "reduced", Decimal(5), date(2020, 1, 1), None, (Category.MATERIAL,))
    found = priced(on=terms(taxes=(*tax_rows(), reduced), discount=Discount("spring", amount=euro("100.00"))))
    # materials 312.66 of goods 1259.38: 100.00 x 312.66 / 1259.38 = 24.8265...
    assert (line(found, "discount.R").net, line(found, "discount.S").net) == (euro("-24.83"), euro("-75.17"))
    assert [t.code for t in found.taxes] == ["R", "S"]


def test_a_deposit_rule_of_the_terms_goes_before_the_books() -> None:
    found = priced(on=terms(deposit=DepositRule(Decimal(50), euro("900.00"))))
    assert (found.deposit, found.balance) == (euro("900.00"), euro("756.00"))


@pytest.mark.parametrize("quantity", [0, -1, 501, True, 2.5, "2"])
def test_a_quantity_that_is_no_whole_number_of_1_to_500_is_refused(quantity: Any) -> None:
    assert refused(quantity=quantity) == "quantity"


def test_a_quantity_of_the_specification_is_checked_alike() -> None:
    with pytest.raises(Refused, match="quantity"):
        priced(of=specification(quantity=10**9))


@pytest.mark.parametrize(
    "bad", [Decimal("NaN"), Decimal("Infinity"), Decimal(-1), Decimal(10**9), "1e3", "٣", 0.5]
)
@pytest.mark.parametrize(
    ("field", "make"),
    [
        ("discount.percent", lambda bad: Discount("spring", percent=bad)),
        ("overrides.timber.rate", lambda bad: Override("timber", "own", rate=bad)),
        ("overrides.timber.quantity", lambda bad: Override("timber", "own", quantity=bad)),
        ("breaks.percent", lambda bad: QuantityBreak(2, bad)),
        ("deposit.percent", lambda bad: DepositRule(bad)),
        (
            "extras.x.rate",
            lambda bad: Extra("x", Category.OPTION, "x", Decimal(1), "", bad, Decimal(0), "asked"),
        ),
    ],
)
def test_a_figure_that_is_negative_huge_or_no_number_is_refused_at_its_field(
    field: str, make: Any, bad: Any
) -> None:
    with pytest.raises(Refused) as caught:
        make(bad)
    assert caught.value.finding.field == field


@pytest.mark.parametrize("percent", [Decimal("NaN"), Decimal(-1), Decimal(101), 19])
def test_a_tax_rate_outside_0_to_100_is_refused(percent: Any) -> None:
    with pytest.raises(Refused, match=r"taxes\.percent"):
        TaxRow("GB", "S", "VAT", percent, DAY)


@pytest.mark.parametrize("reason", ["", "   ", "x" * 10_000])
def test_a_change_wants_a_reason_that_can_be_read(reason: str) -> None:
    for make in (lambda: Override("timber", reason), lambda: Discount(reason, percent=Decimal(5))):
        with pytest.raises(Refused, match="reason"):
            make()


def test_a_change_to_a_line_of_another_quote_is_refused() -> None:
    assert refused(overrides=(Override("guard", "dearer brass", rate=Decimal(9)),)) == "overrides.guard"
    assert refused(overrides=(Override("discount", "more", rate=Decimal(9)),)) == "overrides.discount"


def test_a_line_changed_twice_is_refused() -> None:
    twice = (Override("timber", "a", rate=Decimal(1)), Override("timber", "b", rate=Decimal(2)))
    assert refused(overrides=twice) == "overrides.timber"


def test_a_discount_above_the_goods_is_refused() -> None:
    assert refused(discount=Discount("gift", amount=euro("5000.00"))) == "discount.amount"


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("rush", {"rush": Money(Decimal(9), "GBP")}),
        ("rounding_step", {"rounding_step": Money(Decimal(9), "JPY")}),
        ("discount.amount", {"discount": Discount("x", amount=Money(Decimal(9), "GBP"))}),
        ("deposit.least", {"deposit": DepositRule(Decimal(9), Money(Decimal(9), "GBP"))}),
        ("rush", {"rush": Money(Decimal(-9), "EUR")}),
        ("country", {"country": "gb"}),
        ("zone", {"zone": " "}),
    ],
)
def test_terms_that_do_not_fit_are_refused_at_their_field(field: str, changes: dict[str, Any]) -> None:
    assert refused(**changes) == field


def test_no_rate_or_two_rates_for_a_day_are_refused() -> None:
    assert refused(on=date(2019, 1, 1)) == "taxes"
    assert refused(taxes=(*tax_rows(), TaxRow("GB", "T", "VAT", Decimal(19), DAY))) == "taxes"


def test_a_tax_rate_holds_on_its_first_and_its_last_day() -> None:
    row = TaxRow("GB", "S", "VAT", Decimal(20), date(2026, 1, 1), date(2026, 6, 1))
    assert [row.holds(d) for d in (date(2025, 12, 31), row.valid_from, DAY, date(2026, 6, 2))] == [
        False,
        True,
        True,
        False,
    ]


def test_an_absurd_total_is_refused() -> None:
    with pytest.raises(Refused, match="cannot be quoted"):
        priced(measures(board_feet=900_000.0), under=book(timber__price__other=1_000_000))


def test_a_price_below_nothing_is_refused() -> None:
    gift = Extra("gift", Category.OPTION, "gift", Decimal(-1), "lump", Decimal(9000), Decimal(0), "a friend")
    assert refused(extras=(gift,)) == "overrides"


def test_a_repeated_price_is_equal_after_the_book_went_through_rows() -> None:
    again = replace(book(), entries=dict(reversed(list(book().entries.items()))))
    assert priced(under=again) == priced()
