"""Ready-made measures, books and terms for the price tests, such as `measures(blades=3)`."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

from quoting.pricing.book import PriceBook, starting_book
from quoting.propeller.measures import Measures


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
