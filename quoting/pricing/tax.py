"""Tax by destination and date, from the table the owner keeps; what is right is their accountant's to say."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from quoting.pricing.lines import Category, Line, TaxLine
from quoting.pricing.money import Money, total
from quoting.pricing.refusal import refuse, within

ANYWHERE = "*"
"""Country of the rows that hold for destinations without rows of their own (export)."""


@dataclass(frozen=True, slots=True)
class TaxRow:
    """One rate: valid from `valid_from` to `valid_to`, both days included (None: until further notice).

    `categories` limits the row to lines of those categories, kept in one order; a row without holds for all others.
    Raises `Refused` for a percent outside 0 to 100 or dates the wrong way round.
    """

    country: str
    code: str
    label: str
    percent: Decimal
    valid_from: date
    valid_to: date | None = None
    categories: tuple[Category, ...] = ()

    def __post_init__(self) -> None:
        if not isinstance(self.percent, Decimal):
            raise refuse("not-a-number", "taxes.percent", "A tax rate is a plain decimal number.")
        within(self.percent, Decimal(0), Decimal(100), "taxes.percent", "percent")
        if self.valid_to is not None and self.valid_to < self.valid_from:
            raise refuse("dates-reversed", "taxes.valid_to", "A tax rate cannot end before it begins.")
        object.__setattr__(self, "categories", tuple(sorted(set(self.categories))))

    def holds(self, on: date) -> bool:
        return self.valid_from <= on and (self.valid_to is None or on <= self.valid_to)


@dataclass(frozen=True, slots=True)
class TaxRates:
    """The rates of one destination on one day: one for all lines, and those for single categories."""

    general: TaxRow
    special: tuple[TaxRow, ...] = ()

    def row(self, category: Category) -> TaxRow:
        return next((r for r in self.special if category in r.categories), self.general)

    @property
    def rows(self) -> tuple[TaxRow, ...]:
        return (self.general, *self.special)


def rates_for(rows: Iterable[TaxRow], country: str, on: date) -> TaxRates:
    """The rates that hold for a destination on a day; a country without rows takes those of `*`.

    Raises `Refused` at `taxes` where no general rate holds, or more than one for the same lines.
    """
    valid = sorted((r for r in rows if r.holds(on)), key=lambda r: (r.code, r.percent))
    chosen = [r for r in valid if r.country == country] or [r for r in valid if r.country == ANYWHERE]
    general = [r for r in chosen if not r.categories]
    special = [r for r in chosen if r.categories]
    if len(general) != 1:
        how_many = "no tax rate holds" if not general else "more than one tax rate holds"
        raise refuse(
            "tax-rate", "taxes", f"For {country} on {on.isoformat()} {how_many}; the tax table wants one."
        )
    named = [c for r in special for c in r.categories]
    if len(named) != len(set(named)) or len({r.code for r in chosen}) != len(chosen):
        raise refuse(
            "tax-rate", "taxes", f"For {country} on {on.isoformat()} two tax rates claim the same lines."
        )
    return TaxRates(general[0], tuple(special))


def taxes(lines: Sequence[Line], rows: Sequence[TaxRow], currency: str) -> tuple[TaxLine, ...]:
    """Tax of each rate on the sum of its lines, rounded half up once (EN 16931 BR-CO-17); by code.

    Raises ValueError when a line's code has no row.
    """
    by_code = {row.code: row for row in rows}
    used = sorted({line.tax_code for line in lines})
    if lost := [code for code in used if code not in by_code]:
        raise ValueError(f"no tax row for {', '.join(lost)}")
    return tuple(
        tax_line(by_code[code], total((n.net for n in lines if n.tax_code == code), currency))
        for code in used
    )


def tax_line(row: TaxRow, base: Money) -> TaxLine:
    return TaxLine(row.code, row.label, row.percent, base, base.times(row.percent / 100))
