"""Terms of a quote: where it goes, on which day, how many, and what the owner grants or asks beyond the price book."""

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from quoting.pricing.lines import Category
from quoting.pricing.money import Money
from quoting.pricing.refusal import read_decimal, refuse, within
from quoting.pricing.tax import TaxRow, rates_for

MOST = 500
"""Largest quantity one quote may hold."""
LONGEST_REASON = 500
COLLECT = "collect"
"""Freight zone of a customer who fetches the propeller."""


def _reason(text: str, field: str) -> None:
    if not text.strip() or len(text) > LONGEST_REASON:
        raise refuse("reason", field, f"A reason of 1 to {LONGEST_REASON} characters is wanted.")


def _positive(amount: Money, field: str) -> None:
    if amount.amount < 0:
        raise refuse("negative", field, f"{amount} is negative; nothing or more is wanted.")


@dataclass(frozen=True, slots=True)
class Discount:
    """A discount the owner grants on the goods, with its reason: a percent of them or an amount, not both."""

    reason: str
    percent: Decimal | None = None
    amount: Money | None = None

    def __post_init__(self) -> None:
        _reason(self.reason, "discount.reason")
        if (self.percent is None) == (self.amount is None):
            raise refuse("discount", "discount", "A discount is either a percent or an amount.")
        if self.percent is not None:
            within(
                read_decimal(self.percent, "discount.percent"),
                Decimal(0),
                Decimal(100),
                "discount.percent",
                "percent",
            )
        if self.amount is not None:
            _positive(self.amount, "discount.amount")


@dataclass(frozen=True, slots=True)
class QuantityBreak:
    """So much percent off the goods for so many ordered together."""

    at_least: int
    percent: Decimal

    def __post_init__(self) -> None:
        within(Decimal(self.at_least), Decimal(1), Decimal(MOST), "breaks.at_least")
        within(
            read_decimal(self.percent, "breaks.percent"), Decimal(0), Decimal(90), "breaks.percent", "percent"
        )


@dataclass(frozen=True, slots=True)
class Override:
    """A line the owner changed by hand: another quantity, another rate, or both; a quantity of 0 strikes it out."""

    key: str
    reason: str
    quantity: Decimal | None = None
    rate: Decimal | None = None

    def __post_init__(self) -> None:
        field = f"overrides.{self.key}"
        _reason(self.reason, f"{field}.reason")
        for name, value in (("quantity", self.quantity), ("rate", self.rate)):
            if value is not None:
                within(
                    read_decimal(value, f"{field}.{name}"), Decimal(0), Decimal(1_000_000), f"{field}.{name}"
                )


@dataclass(frozen=True, slots=True)
class Extra:
    """A line the owner adds by hand. `rate` and `cost_rate` are per unit; a negative quantity gives money back."""

    key: str
    category: Category
    label: str
    quantity: Decimal
    unit: str
    rate: Decimal
    cost_rate: Decimal
    reason: str

    def __post_init__(self) -> None:
        field = f"extras.{self.key}"
        _reason(self.reason, f"{field}.reason")
        if not self.label.strip() or len(self.label) > 200:
            raise refuse("label", f"{field}.label", "A label of 1 to 200 characters is wanted.")
        million = Decimal(1_000_000)
        within(read_decimal(self.quantity, f"{field}.quantity"), -million, million, f"{field}.quantity")
        within(read_decimal(self.rate, f"{field}.rate"), Decimal(0), million, f"{field}.rate")
        within(read_decimal(self.cost_rate, f"{field}.cost_rate"), Decimal(0), million, f"{field}.cost_rate")


@dataclass(frozen=True, slots=True)
class DepositRule:
    """A deposit in percent of the total with tax, rounded once, at least `least`, never above the total."""

    percent: Decimal
    least: Money | None = None

    def __post_init__(self) -> None:
        within(
            read_decimal(self.percent, "deposit.percent"),
            Decimal(0),
            Decimal(100),
            "deposit.percent",
            "percent",
        )
        if self.least is not None:
            _positive(self.least, "deposit.least")

    def of(self, gross: Money) -> Money:
        asked = gross.times(self.percent / 100)
        if self.least is not None and asked < self.least:
            asked = self.least
        return asked if asked <= gross else gross


@dataclass(frozen=True, slots=True)
class Terms:
    """Everything a price depends on beside the propeller and the price book.

    `country` is the destination (ISO 3166-1 alpha-2), `zone` a freight zone of the book or "collect"; `on`
    picks the tax rate. `quantity` None takes the specification's. `breaks`, `rounding_step` and `deposit` None
    take the price book's. `rush` is the surcharge, None for ordinary work. Raises `Refused` naming the field.
    """

    country: str
    zone: str
    on: date
    taxes: tuple[TaxRow, ...]
    quantity: int | None = None
    rush: Money | None = None
    discount: Discount | None = None
    breaks: tuple[QuantityBreak, ...] | None = None
    overrides: tuple[Override, ...] = ()
    extras: tuple[Extra, ...] = ()
    rounding_step: Money | None = None
    deposit: DepositRule | None = None
    crate: bool = True
    insured: bool = False
    duty_paid: bool = False

    def __post_init__(self) -> None:
        if not (len(self.country) == 2 and self.country.isascii() and self.country.isupper()):
            raise refuse("country", "country", "A country is two capital letters such as GB (ISO 3166-1).")
        if not self.zone.strip() or len(self.zone) > 40:
            raise refuse("zone", "zone", "A freight zone of the price book, or collect, is wanted.")
        if self.quantity is not None:
            check_quantity(self.quantity)
        if self.rush is not None:
            _positive(self.rush, "rush")
        if self.rounding_step is not None:
            _positive(self.rounding_step, "rounding_step")
        _once([o.key for o in self.overrides], "overrides")
        _once([e.key for e in self.extras], "extras")

    @property
    def settled(self) -> "Terms":
        """The same terms with no more of the tax table than holds for them: what a quote keeps.

        Raises `Refused` where no rate holds.
        """
        return replace(self, taxes=rates_for(self.taxes, self.country, self.on).rows)


def check_quantity(quantity: int) -> int:
    """The quantity itself, 1 to 500; raises `Refused` at `quantity`."""
    if isinstance(quantity, bool) or not isinstance(quantity, int):
        raise refuse("quantity", "quantity", f"A whole number of 1 to {MOST} is wanted, not {quantity!r}.")
    within(Decimal(quantity), Decimal(1), Decimal(MOST), "quantity")
    return quantity


def _once(keys: list[str], field: str) -> None:
    if len(keys) > 100:
        raise refuse("too-many", field, "At most 100 lines may be changed by hand.")
    for key in {k for k in keys if keys.count(k) > 1}:
        raise refuse("doubled", f"{field}.{key}", f"{key} is named twice.")
