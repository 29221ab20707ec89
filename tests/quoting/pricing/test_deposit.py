"""What is kept of a deposit, storage and change fees; freight estimated against actual."""

from decimal import Decimal

import pytest

from quoting.pricing.deposit import change_fee, kept_on_cancelling, storage
from quoting.pricing.freight import freight_outcome
from quoting.pricing.money import Money
from tests.quoting.pricing.shapes import book


def euro(amount: str) -> Money:
    return Money(Decimal(amount), "EUR")


def test_a_tenth_is_kept_before_wood_is_cut_and_all_of_it_after() -> None:
    paid = euro("662.45")
    assert kept_on_cancelling(paid, book(), wood_cut=False) == euro("66.25")
    assert kept_on_cancelling(paid, book(), wood_cut=True) == paid


@pytest.mark.parametrize(
    ("days", "charge"), [(0, "0"), (28, "0"), (29, "8"), (35, "8"), (36, "16"), (60, "40")]
)
def test_storage_is_charged_for_each_week_begun_after_the_free_ones(days: int, charge: str) -> None:
    assert storage(book(), days) == euro(charge)


def test_days_below_nothing_and_another_currency_are_refused() -> None:
    with pytest.raises(ValueError, match="days_ready"):
        storage(book(), -1)
    with pytest.raises(ValueError, match="GBP"):
        kept_on_cancelling(Money(Decimal(5), "GBP"), book(), wood_cut=True)


def test_the_change_fee_is_the_books() -> None:
    assert change_fee(book(change__fee="52.5")) == euro("52.50")


def test_freight_that_cost_more_than_estimated_shows_by_how_much() -> None:
    outcome = freight_outcome(euro("80.00"), euro("92.00"))
    assert (outcome.difference, outcome.share) == (euro("12.00"), Decimal("0.1500"))
    assert freight_outcome(euro("0"), euro("5.00")).share is None
