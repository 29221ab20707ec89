"""Ready-made measures, books and terms for the price tests, such as `measures(blades=3)`."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

from quoting.pricing.book import PriceBook, starting_book
from quoting.pricing.lines import Price
from quoting.pricing.minutes import work_content
from quoting.pricing.price import price
from quoting.pricing.tax import TaxRow
from quoting.pricing.terms import Terms
from quoting.propeller.measures import Measures
from quoting.propeller.specification import Specification
from tests.quoting.samples import specification


def measures(**changes: Any) -> Measures:
    """A 72 x 44 in two-blade propeller, worked by hand to the nearest sensible figure."""
    base = Measures(
        diameter=1.8288,
        pitch=1.1176,
        blades=2,
        boss_diameter=0.1524,
        boss_thickness=0.1016,
        boss_width_ratio=1.2,
        blade_surface=0.40,
        finished_volume=0.0062,
        blank_volume=0.0225,
        wood_removed=0.0163,
        laminations=6,
        board_feet=9.6,
        glue_area=1.25,
        guard_length=0.0,
        bolt_holes=6,
        bolt_circle=0.1111,
        lug_counterbores=6,
        mass=4.3,
        crate_length=1.93,
        crate_width=0.23,
        crate_height=0.20,
    )
    return replace(base, **changes)


def book(version: str = "2026-1", currency: str = "EUR", **values: Any) -> PriceBook:
    """The starting book; `carve__per_litre=9` changes the entry carve.per_litre."""
    changes = {key.replace("__", "."): Decimal(str(value)) for key, value in values.items()}
    return starting_book(version, currency, date(2026, 1, 1)).redrafted(version, changes)


def tax_rows(percent: str = "20", country: str = "GB") -> tuple[TaxRow, ...]:
    """One general rate for the country, and nothing for anywhere else."""
    return (
        TaxRow(country, "S", "VAT", Decimal(percent), date(2020, 1, 1)),
        TaxRow("*", "Z", "export", Decimal(0), date(2020, 1, 1)),
    )


def terms(**changes: Any) -> Terms:
    """Sent within GB on a day in 2026, VAT at 20 percent."""
    base: dict[str, Any] = {"country": "GB", "zone": "home", "on": date(2026, 6, 1), "taxes": tax_rows()}
    return Terms(**base | changes)


def priced(
    shape: Measures | None = None,
    of: Specification | None = None,
    under: PriceBook | None = None,
    on: Terms | None = None,
) -> Price:
    """The price of a 72 x 44 in birch propeller; give what shall differ."""
    shape, of, under, on = shape or measures(), of or specification(), under or book(), on or terms()
    return price(shape, of, work_content(shape, of, under), under, on)
