"""Balance: how much unbalance may stay, and a worksheet that says which wood to take or varnish to add where.

Corrections here go on the blades and the boss, never into load-bearing places: the bench decides.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import atan2, cos, degrees, hypot, pi, radians, sin

GRADES = (0.4, 1.0, 2.5, 6.3, 16.0, 40.0, 100.0, 250.0, 630.0, 1600.0, 4000.0)
"""Balance quality grades of ISO 21940-11:2016 in mm/s; the standard does not list aircraft propellers."""
USUAL_GRADE = 6.3
"""The grade usual for propellers; common practice, no source."""
NEGLIGIBLE = 1e-8
"""A moment in kg m (0.01 g mm) not worth a stroke of the brush."""
STANDARD = "ISO 21940-11:2016, permissible residual unbalance for the shop's chosen grade"


class Action(StrEnum):
    """What to do to come into balance."""

    ADD_VARNISH = "add varnish"
    REMOVE_WOOD = "remove wood"


@dataclass(frozen=True, slots=True)
class Permissible:
    """Unbalance that may stay, kg m. `by_grade` from the standard, `by_engine` the engine maker's, None if not published.

    `offset` is how far the centre of mass may stand from the shaft by the grade, in m.
    """

    grade: float
    offset: float
    by_grade: float
    by_engine: float | None

    @property
    def unbalance(self) -> float:
        """The smaller of the two."""
        return self.by_grade if self.by_engine is None else min(self.by_grade, self.by_engine)

    def force(self, speed: float) -> float:
        """Rotating force in N that the permitted unbalance makes at `speed` rev/s."""
        return rotating_force(self.unbalance, speed)


def permissible(
    mass: float, speed: float, *, grade: float = USUAL_GRADE, engine_limit: float | None = None
) -> Permissible:
    """Permissible residual unbalance of `mass` kg at `speed` rev/s: U = G m / Omega (ISO 21940-11).

    `engine_limit` in kg m. Raises ValueError for a grade the standard does not have.

    >>> round(permissible(5.0, 2750 / 60).by_grade * 1e6, 2)  # g mm
    109.38
    """
    if grade not in GRADES:
        accepted = ", ".join(f"{g:g}" for g in GRADES)
        raise ValueError(f"grade: {grade:g} given, accepted are {accepted}")
    if not mass > 0 or not speed > 0:
        raise ValueError("mass and speed: accepted is more than 0")
    offset = grade / 1000 / (2 * pi * speed)
    return Permissible(grade, offset, offset * mass, engine_limit)


def rotating_force(unbalance: float, speed: float) -> float:
    """Force in N of `unbalance` (kg m) turning at `speed` rev/s.

    >>> round(rotating_force(500e-6, 40.0), 1)
    31.6
    """
    return unbalance * (2 * pi * speed) ** 2


@dataclass(frozen=True, slots=True)
class Correction:
    """One thing to do. `place` in words, `angle` in degrees clockwise from blade 1 as seen from the front.

    `mass` in kg at `radius` in m does `moment` in kg m; `volume` is the wood of that mass in m3, None for varnish.
    """

    action: Action
    place: str
    angle: float
    radius: float
    mass: float
    moment: float
    volume: float | None


@dataclass(frozen=True, slots=True)
class Worksheet:
    """What was measured, what may stay and what to do. Unbalance in kg m, `heavy_angle` in degrees from blade 1.

    `corrections` lists either way to do it; `additions` and `removals` each bring it to balance alone.
    """

    unbalance: float
    heavy_angle: float
    permitted: float
    within: bool
    corrections: tuple[Correction, ...]

    @property
    def additions(self) -> tuple[Correction, ...]:
        return tuple(c for c in self.corrections if c.action is Action.ADD_VARNISH)

    @property
    def removals(self) -> tuple[Correction, ...]:
        return tuple(c for c in self.corrections if c.action is Action.REMOVE_WOOD)


def worksheet(
    blades: int,
    heavy_moments: Sequence[float],
    permitted: float,
    *,
    radius: float,
    boss_radius: float,
    density: float,
    across: float = 0.0,
) -> Worksheet:
    """The correction for a propeller hung on knife-edges.

    `heavy_moments` (kg m, 0 or more) per blade: the mass times its radius that, hung on the opposite side, holds
    the blade level; one value per blade, the light ones 0. `across` (two blades only, kg m, signed) is the
    unbalance with the blades upright, positive to the right of blade 1 pointing up, seen from the front.
    `radius` is where the blades are corrected and `boss_radius` where the boss is, in m; `density` of the wood.
    Raises ValueError naming the argument.
    """
    _usable(blades, heavy_moments, radius, boss_radius, density, across)
    angles = [360 / blades * i for i in range(blades)]
    along = sum(m * cos(radians(a)) for m, a in zip(heavy_moments, angles, strict=True))
    sideways = sum(m * sin(radians(a)) for m, a in zip(heavy_moments, angles, strict=True)) + across
    unbalance = hypot(along, sideways)
    within = unbalance <= permitted
    if within:
        corrections: tuple[Correction, ...] = ()
    elif blades == 2:
        corrections = _two_blades(along, sideways, radius, boss_radius, density)
    else:
        corrections = _many_blades(blades, along, sideways, radius, density)
    return Worksheet(unbalance, _bearing(along, sideways), permitted, within, corrections)


@dataclass(frozen=True, slots=True)
class Levelled:
    """What a propeller of three or four blades weighed at each blade laid level says of its unbalance.

    `moments` (kg m, one a blade) is the unbalance as `worksheet` takes it; `misfit` is how far in kg m the
    readings contradict each other, in the root of their mean square: reading error, or a shaft that is not level.
    """

    moments: tuple[float, ...]
    misfit: float


def levelled(readings: Sequence[float]) -> Levelled:
    """The unbalance from each blade of three or four laid level in turn.

    `readings` (kg m, signed, one a blade) is positive where the blade sinks: the moment that, hung on the other
    side, holds it. A blade laid level shows the part of the unbalance along it, so the unbalance is the vector
    that fits all readings best: 2/n of their sum along the blades. Raises ValueError for another number of blades.

    >>> [round(m, 6) for m in levelled((0.002, -0.001, -0.001)).moments]
    [0.002, 0.0, 0.0]
    """
    blades = len(readings)
    if blades not in (3, 4):
        raise ValueError(f"readings: {blades} given, accepted are 3 or 4")
    if not all(-1 < reading < 1 for reading in readings):
        raise ValueError("readings: accepted are -1 to 1 kg m")
    angles = [2 * pi * i / blades for i in range(blades)]
    along = 2 / blades * sum(m * cos(a) for m, a in zip(readings, angles, strict=True))
    sideways = 2 / blades * sum(m * sin(a) for m, a in zip(readings, angles, strict=True))
    shares = dict(_shared(blades, along, sideways))
    parts = (m - along * cos(a) - sideways * sin(a) for m, a in zip(readings, angles, strict=True))
    misfit = (sum(part * part for part in parts) / blades) ** 0.5
    return Levelled(tuple(shares.get(i, 0.0) for i in range(blades)), misfit)


def _usable(
    blades: int, moments: Sequence[float], radius: float, boss_radius: float, density: float, across: float
) -> None:
    if blades not in (2, 3, 4):
        raise ValueError(f"blades: {blades} given, accepted are 2, 3 or 4")
    if len(moments) != blades:
        raise ValueError(f"heavy_moments: {len(moments)} given for {blades} blades")
    if not all(0 <= m < 1 for m in moments) or not -1 < across < 1:
        raise ValueError("heavy_moments: accepted are 0 to 1 kg m")
    if not 0 < boss_radius < radius < 5:
        raise ValueError("radius: accepted is more than the boss's radius and less than 5 m")
    if not 100 < density < 1500:
        raise ValueError(f"density: {density:g} given, accepted are 100 to 1500 kg/m3")
    if blades != 2 and across:
        raise ValueError("across: only two blades have a balance with the blades upright of their own")


def _bearing(along: float, sideways: float) -> float:
    """Angle in degrees, 0 to 360, of a vector given along blade 1 and to its right."""
    return degrees(atan2(sideways, along)) % 360


def _either_way(
    light: tuple[str, float], heavy: tuple[str, float], moment: float, radius: float, density: float
) -> tuple[Correction, ...]:
    """Varnish on the light place or wood off the heavy one; a place is its name and angle."""
    mass = moment / radius
    return (
        Correction(Action.ADD_VARNISH, *light, radius, mass, moment, None),
        Correction(Action.REMOVE_WOOD, *heavy, radius, mass, moment, mass / density),
    )


def _two_blades(
    along: float, sideways: float, radius: float, boss_radius: float, density: float
) -> tuple[Correction, ...]:
    """Lengthwise on the blades, crosswise on the rim of the boss."""
    blades = (("blade 1", 0.0), ("blade 2", 180.0))
    rims = (("boss, right of blade 1", 90.0), ("boss, left of blade 1", 270.0))
    done: tuple[Correction, ...] = ()
    for amount, (near, far), at in ((along, blades, radius), (sideways, rims, boss_radius)):
        if abs(amount) > NEGLIGIBLE:
            heavy, light = (near, far) if amount > 0 else (far, near)
            done += _either_way(light, heavy, abs(amount), at, density)
    return done


def _many_blades(
    blades: int, along: float, sideways: float, radius: float, density: float
) -> tuple[Correction, ...]:
    """The light vector shared between the two blades beside it, and the heavy one likewise."""
    lighter = _shared(blades, -along, -sideways)
    heavier = _shared(blades, along, sideways)
    return tuple(
        Correction(Action.ADD_VARNISH, f"blade {i + 1}", 360 / blades * i, radius, m / radius, m, None)
        for i, m in lighter
    ) + tuple(
        Correction(
            Action.REMOVE_WOOD,
            f"blade {i + 1}",
            360 / blades * i,
            radius,
            m / radius,
            m,
            m / radius / density,
        )
        for i, m in heavier
    )


def _shared(blades: int, along: float, sideways: float) -> list[tuple[int, float]]:
    """A vector as moments on the two blades beside it: (blade index from 0, kg m), small ones left out."""
    step = 2 * pi / blades
    size, angle = hypot(along, sideways), atan2(sideways, along) % (2 * pi)
    first = int(angle // step) % blades
    past = angle - first * step
    parts = (
        (first, size * sin(step - past) / sin(step)),
        ((first + 1) % blades, size * sin(past) / sin(step)),
    )
    return [(blade, moment) for blade, moment in parts if moment > NEGLIGIBLE]
