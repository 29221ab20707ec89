"""How wide a blade is made over the usual one, so that it is as strong as the shop asks."""

from math import ceil

from quoting.propeller.catalogue import Timber
from quoting.propeller.figure import known
from quoting.propeller.powerplant import Powerplant
from quoting.propeller.specification import Specification, Use, Wish
from quoting.propeller.strength import COMPRESSION_FACTOR_WANTED, TENSION_FACTOR_WANTED, Strength

WIDEST = 1.25
WIDENINGS = 2
"""Times a blade is made again, wider or narrower, after its stresses were computed."""
_GROWTH = 1.21
"""Power of the width with which the factors grow, pitch following; fitted to the whole computation for the catalogue's
airframes, engines and timbers, as are the figures below, within a tenth: a first guess that the stresses then correct."""
_SURE_GROWTH = 1.1
"""The least of it met with, by which a width found wanting is mended at once."""
_BIRCH = 114e6
_AT_ONE = (0.765, 0.41, -0.327, -0.543, 0.282, 0.75)
_SPARE = 1.03
"""Factor over the one wanted that a widened blade is guessed for, so that few are computed twice."""
_AMPLE = 0.88
"""Factor wanted over the one found below which a widened blade is made narrower again."""
_PITCH_PER_ADVANCE = 0.96
"""Flat-face pitch over the advance per turn at top speed and rated rpm, of certified combinations (0.87 to 1.05)."""


def may_widen(specification: Specification) -> bool:
    """Whether the width is ours to choose: of what flies and copies nothing, where it was not given."""
    flies = specification.use is Use.FLIGHT and specification.wish is not Wish.COPY
    return flies and specification.chord_factor is None


def expected_chord(
    powerplant: Powerplant,
    top: float | None,
    diameter: float,
    pitch: float | None,
    blades: int,
    timber: Timber,
) -> float:
    """A first guess at the width needed, over the usual one; lengths in m, top speed in m/s.

    1 without a pitch or a top speed to guess it by, or a published strength.
    """
    rupture = known(timber.modulus_of_rupture)
    if pitch is None and top is not None:
        pitch = _PITCH_PER_ADVANCE * top / powerplant.speed
    if rupture is None or pitch is None:
        return 1.0
    constant, count, power, speed, steep, wood = _AT_ONE
    factor = constant * blades**count * (powerplant.power / 1e5) ** power * (powerplant.speed / 40) ** speed
    factor *= (pitch / diameter) ** steep * (rupture / _BIRCH) ** wood
    return 1.0 if factor > 1.01 else _in_hundredths((_SPARE / factor) ** (1 / _GROWTH))


def better_width(strength: Strength | None, width: float) -> float | None:
    """The width that should be strong enough and no wider than need be; None where `width` is, or is the widest."""
    if strength is None:
        return None
    lacking = [
        wanted / factor
        for case in strength.cases
        for factor, wanted in (
            (case.tension_factor, TENSION_FACTOR_WANTED),
            (case.compression_factor, COMPRESSION_FACTOR_WANTED),
        )
        if factor is not None
    ]
    most = max(lacking, default=1.0)
    if _AMPLE <= most <= 1:
        return None
    better = _in_hundredths(width * (1.01 * most) ** (1 / _SURE_GROWTH))
    return better if better != width else None


def _in_hundredths(width: float) -> float:
    return min(max(ceil(100 * width - 1e-6) / 100, 1.0), WIDEST)
