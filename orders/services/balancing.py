"""Balance of one propeller on the bench: what may stay by grade and by the engine's maker, and what the readings ask for."""

from collections.abc import Sequence
from dataclasses import dataclass

from orders.models import Propeller
from orders.services.accepted import results
from quoting.propeller.balance import (
    USUAL_GRADE,
    Levelled,
    Permissible,
    Worksheet,
    levelled,
    permissible,
    rotating_force,
    worksheet,
)
from quoting.propeller.figure import Trust
from quoting.propeller.timber import density
from quoting.services.quotes import specification_of

GRAM_MM = 1e6
"""g mm in a kg m."""
CORRECTED_AT = 0.75
"""Where blades are corrected, as a fraction of the radius; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Bench:
    """What is known of a propeller before it is weighed; SI. `turns` is its rated speed in rev/s, None if not known."""

    blades: int
    mass: float
    turns: float | None
    radius: float
    boss_radius: float
    correction_radius: float
    density: float
    maker_limit: float | None
    maker_source: str


@dataclass(frozen=True, slots=True)
class Readings:
    """What was measured, kg m. For two blades `along` (blade 1 heavy is positive) and `across` (right of blade 1
    pointing up is positive, from the front); for three and four `blades`, each laid level, positive where it sinks.
    """

    along: float = 0.0
    across: float = 0.0
    blades: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Balanced:
    """The worksheet worked out. `permitted` is None when neither grade nor maker gives a limit: then nothing is judged.

    `limits` is by the standard, None without a speed. `force` in N is the unbalance at rated speed.
    """

    sheet: Worksheet
    limits: Permissible | None
    permitted: float | None
    force: float | None
    misfit: float


def bench_of(propeller: Propeller) -> Bench:
    """The figures of the accepted quote a balance starts from."""
    specification, measures = specification_of(propeller.order.quote), results(propeller.order).measures
    engine = specification.engine
    limit = engine.unbalance_limit if engine else None
    usable = limit is not None and limit.trust is not Trust.UNSURE
    turns = None
    if engine and engine.rated_speed:
        turns = engine.rated_speed.value / (engine.gear_ratio.value if engine.gear_ratio else 1.0)
    return Bench(
        blades=measures.blades,
        mass=measures.mass,
        turns=turns,
        radius=measures.diameter / 2,
        boss_radius=measures.boss_diameter / 2,
        correction_radius=CORRECTED_AT * measures.diameter / 2,
        density=density(specification.timber, specification.moisture),
        maker_limit=limit.value if usable and limit else None,
        maker_source=limit.source if usable and limit else "",
    )


def balance(
    bench: Bench,
    readings: Readings,
    *,
    mass: float,
    turns: float | None,
    radius: float,
    grade: float = USUAL_GRADE,
) -> Balanced:
    """What the readings ask for at the correction radius; raises ValueError naming the argument."""
    limits = permissible(mass, turns, grade=grade, engine_limit=bench.maker_limit) if turns else None
    permitted = limits.unbalance if limits else bench.maker_limit
    moments, misfit = _moments(bench.blades, readings)
    sheet = worksheet(
        bench.blades,
        moments,
        permitted or 0.0,
        radius=radius,
        boss_radius=bench.boss_radius,
        density=bench.density,
        across=readings.across if bench.blades == 2 else 0.0,
    )
    force = rotating_force(sheet.unbalance, turns) if turns else None
    return Balanced(sheet, limits, permitted, force, misfit)


def _moments(blades: int, readings: Readings) -> tuple[Sequence[float], float]:
    if blades == 2:
        return (max(readings.along, 0.0), max(-readings.along, 0.0)), 0.0
    found: Levelled = levelled(readings.blades)
    return found.moments, found.misfit
