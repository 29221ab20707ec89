"""Adding up what can be shown: terms that are products of named factors, kept as the workings of a line."""

import math
from collections.abc import Iterable
from dataclasses import fields
from decimal import ROUND_HALF_UP, Decimal

from quoting.pricing.lines import Working
from quoting.pricing.refusal import refuse
from quoting.propeller.measures import Measures

WORKED_OUT = "worked out: product of the factors above"
"""Origin of a row that multiplies the rows above it, back to the row worked out before it."""

_LARGEST = 1e6


def exact(value: float, name: str, *, scale: int = 1, places: int = 4) -> Decimal:
    """The one crossing from physics to prices: a float times `scale`, rounded half up to `places`.

    Raises `Refused` naming the figure when it is negative, not finite or beyond any propeller.
    """
    if not math.isfinite(value) or not 0 <= value <= _LARGEST:
        raise refuse(
            "measure-out-of-bounds", name, f"{name} of {value} cannot be priced: 0 to {_LARGEST:g} is wanted."
        )
    return (Decimal(repr(float(value))) * scale).quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)


def check_measures(measures: Measures) -> None:
    """Raise `Refused` at the first figure that is negative, not finite or beyond any propeller."""
    for field in fields(measures):
        exact(getattr(measures, field.name), field.name)


def fact(name: str, value: Decimal | int, unit: str, origin: str) -> Working:
    """A factor that does not come from the price book."""
    return Working(name, Decimal(value), unit, origin)


class Tally:
    """A sum of products in one unit. `add` multiplies factors, `total` is the exact sum, `workings` shows all."""

    def __init__(self, unit: str) -> None:
        self.unit = unit
        self.total = Decimal(0)
        self.workings: tuple[Working, ...] = ()

    def add(self, name: str, *factors: Working) -> None:
        """Add the product of the factors; a product of nothing is left out."""
        product = Decimal(1)
        for factor in factors:
            product *= factor.value
        if product:
            self.total += product
            self.workings += (*factors, Working(name, product, self.unit, WORKED_OUT))


def terms(workings: Iterable[Working], unit: str) -> tuple[Working, ...]:
    """The worked-out rows of a tally in this unit."""
    return tuple(w for w in workings if w.unit == unit and w.origin == WORKED_OUT)
