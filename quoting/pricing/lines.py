"""Price lines and what stands behind each: values only; `price.py` makes them."""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from quoting.pricing.money import EXPONENTS, Money


class Category(StrEnum):
    """What a line is for; mark-up and summary go by it."""

    MATERIAL = "material"
    LABOUR = "labour"
    SHOP = "shop"
    OPTION = "option"
    ARTWORK = "artwork"
    CRATE = "crate"
    FREIGHT = "freight"
    RUSH = "rush"
    DISCOUNT = "discount"
    MARGIN = "margin"


@dataclass(frozen=True, slots=True)
class Working:
    """One factor in a line: its name, value, unit, and where it came from.

    `origin` is "geometry: blade_surface", "price book 2026-1: varnish.litre" or "owner: reason".
    """

    name: str
    value: Decimal
    unit: str
    origin: str

    @property
    def is_internal(self) -> bool:
        """Whether it tells a cost or a mark-up: a rate in money, or a mark-up or margin of the price book."""
        book, _, key = self.origin.partition(": ")
        secret = key.startswith(("markup.", "margin."))
        return book.startswith("price book") and (secret or self.unit.split("/")[0] in EXPONENTS)


@dataclass(frozen=True, slots=True)
class Line:
    """One price line. `net` = quantity x rate, rounded half up; `cost` is what it costs the shop.

    `tax_code` names the row of the tax table. `reason` is set where the owner changed the line by hand.
    """

    key: str
    category: Category
    label: str
    quantity: Decimal
    unit: str
    rate: Decimal
    net: Money
    cost: Money
    tax_code: str
    workings: tuple[Working, ...] = ()
    reason: str = ""

    @property
    def open_workings(self) -> tuple[Working, ...]:
        """The workings a customer may see: what the quantity was worked from, not what the shop pays or adds."""
        return tuple(w for w in self.workings if not w.is_internal)


@dataclass(frozen=True, slots=True)
class TaxLine:
    """Tax of one rate on the sum of its lines (EN 16931: sum, then tax per rate, rounded half up)."""

    code: str
    label: str
    percent: Decimal
    base: Money
    tax: Money


@dataclass(frozen=True, slots=True)
class StageMinutes:
    """Work content of one stage: minutes of a skill, elapsed wait after it, and the workings of the minutes."""

    stage: str
    label: str
    skill: str
    minutes: int
    wait_minutes: int
    workings: tuple[Working, ...] = ()


@dataclass(frozen=True, slots=True)
class Price:
    """Lines, tax per rate and totals; lines sum to `net`, `net` + `tax` is `gross`, `deposit` + `balance` is `gross`."""

    currency: str
    lines: tuple[Line, ...]
    taxes: tuple[TaxLine, ...]
    net: Money
    tax: Money
    gross: Money
    deposit: Money
    balance: Money
    cost: Money
    price_book: str

    @property
    def margin(self) -> Money:
        return self.net - self.cost
