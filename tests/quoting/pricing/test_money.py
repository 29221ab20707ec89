"""Money is exact, keeps to its currency, and is rounded by one rule."""

from decimal import Decimal

import pytest

from quoting.pricing.money import EXPONENTS, Money, round_half_up, total
from quoting.pricing.refusal import Refused, read_decimal


def euro(amount: str) -> Money:
    return Money(Decimal(amount), "EUR")


@pytest.mark.parametrize(
    ("value", "digits", "rounded"),
    [
        ("1.005", 2, "1.01"),
        ("2.675", 2, "2.68"),
        ("-2.675", 2, "-2.68"),
        ("0.5", 0, "1"),
        ("0.00049", 3, "0.000"),
    ],
)
def test_halves_go_away_from_zero(value: str, digits: int, rounded: str) -> None:
    assert str(round_half_up(Decimal(value), digits)) == rounded


def test_a_float_is_never_money() -> None:
    with pytest.raises(TypeError, match="float"):
        Money(0.1, "EUR")  # type: ignore[arg-type]


@pytest.mark.parametrize("amount", ["NaN", "Infinity", "0.001"])
def test_an_amount_that_is_not_finite_or_too_fine_is_refused(amount: str) -> None:
    with pytest.raises(ValueError):
        Money(Decimal(amount), "EUR")


def test_an_unknown_currency_is_refused() -> None:
    with pytest.raises(ValueError, match="XXX"):
        Money(Decimal(1), "XXX")


@pytest.mark.parametrize(("currency", "minor"), [("JPY", 1234), ("EUR", 123400), ("KWD", 1234000)])
def test_minor_units_follow_the_currency(currency: str, minor: int) -> None:
    assert Money(Decimal(1234), currency).minor == minor
    assert Money.from_minor(minor, currency) == Money(Decimal(1234), currency)


def test_equal_amounts_are_equal_however_they_were_written() -> None:
    assert euro("5") == euro("5.00") and str(euro("5")) == "5.00 EUR"


def test_currencies_do_not_mix() -> None:
    for mixed in (
        lambda: euro("1") + Money(Decimal(1), "GBP"),
        lambda: euro("1") - Money(Decimal(1), "GBP"),
        lambda: euro("1") < Money(Decimal(1), "GBP"),
        lambda: total([euro("1"), Money(Decimal(1), "GBP")], "EUR"),
    ):
        with pytest.raises(ValueError, match="cannot mix"):
            mixed()


@pytest.mark.parametrize("weights", [[], [0, 0], [1, -1, 3]])
def test_a_split_by_nothing_or_less_is_refused(weights: list[int]) -> None:
    with pytest.raises(ValueError, match="weights"):
        euro("1").split(weights)


def test_every_exponent_is_one_of_the_standard() -> None:
    assert {EXPONENTS[c] for c in EXPONENTS} == {0, 2, 3}
    assert [EXPONENTS[c] for c in ("EUR", "JPY", "KWD")] == [2, 0, 3]


@pytest.mark.parametrize(
    "text", ["1e3", "1_000", " ", "+5", "1,5", "0x10", "½", "١٢", "１", "1" * 16, "1.1234567890", "-", "."]
)
def test_only_plain_digits_are_read(text: str) -> None:
    with pytest.raises(Refused, match="rate"):
        read_decimal(text, "rate")


def test_plain_digits_are_read_exactly() -> None:
    assert [read_decimal(t, "rate") for t in ("12.50", "-3", " 7 ")] == [
        Decimal("12.50"),
        Decimal(-3),
        Decimal(7),
    ]
