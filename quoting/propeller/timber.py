"""Wood and water: equilibrium moisture, density at moisture, and how much a piece moves when its moisture changes."""

from dataclasses import dataclass
from enum import StrEnum

from quoting.propeller.catalogue import Timber

WATER = 1000.0
FIBRE_SATURATION = 30.0
REFERENCE_MOISTURE = 12.0
COEFFICIENT_RANGE = (6.0, 14.0)
STRENGTH_CAUTION_MOISTURE = 15.0

EMC_SOURCE = "Wood Handbook, FPL-GTR-190 (2010), equation 4-5"


class Ring(StrEnum):
    """The direction across the grain in which a dimension lies."""

    RADIAL = "radial"
    TANGENTIAL = "tangential"


def equilibrium_moisture(temperature: float, humidity: float) -> float:
    """Moisture in percent that wood settles to at `temperature` (degrees C) and relative `humidity` (0..1).

    Hailwood-Horrobin, Wood Handbook FPL-GTR-190 equation 4-5; Celsius coefficients as in Simpson, FPL-RN-0268
    (1998). Raises ValueError outside -20..70 degrees C or humidity outside 0..0.98, where it was not fitted.

    >>> round(equilibrium_moisture(21.1, 0.65), 1)
    12.0
    """
    if not -20.0 <= temperature <= 70.0:
        raise ValueError(f"temperature: {temperature:g} given, accepted are -20 to 70 degrees C")
    if not 0.0 <= humidity <= 0.98:
        raise ValueError(f"humidity: {humidity:g} given, accepted are 0 to 0.98")
    t = temperature
    w = 349 + 1.29 * t + 0.0135 * t * t
    k = 0.805 + 0.000736 * t - 0.00000273 * t * t
    k1 = 6.27 - 0.00938 * t - 0.000303 * t * t
    k2 = 1.91 + 0.0407 * t - 0.000293 * t * t
    kh = k * humidity
    first = kh / (1 - kh)
    second = (k1 * kh + 2 * k1 * k2 * kh * kh) / (1 + k1 * kh + k1 * k2 * kh * kh)
    return 1800 / w * (first + second)


def density(timber: Timber, moisture: float) -> float:
    """Density in kg/m3 at `moisture` percent, from the timber's density at 12 %.

    rho = 1000 G (1 + M/100), G on the volume at that moisture (Wood Handbook FPL-GTR-190, chapter 4). The volume
    follows the shrinkage S0 (1 - M/30) below fibre saturation; radial and tangential are summed. Without published
    shrinkage the volume is held.
    """
    at_reference = timber.density.value / (WATER * (1 + REFERENCE_MOISTURE / 100))
    basic = at_reference * (1 - _volumetric_shrinkage(timber, REFERENCE_MOISTURE))
    return WATER * basic / (1 - _volumetric_shrinkage(timber, moisture)) * (1 + moisture / 100)


def density_from_basic_gravity(basic: float, volumetric_shrinkage: float, moisture: float) -> float:
    """Density in kg/m3 from specific gravity on green volume and total volumetric shrinkage (a fraction).

    For the imported woods, whose tables give basic specific gravity (Wood Handbook FPL-GTR-190, chapter 4).

    >>> round(density_from_basic_gravity(0.45, 0.078, 12.0))
    529
    """
    shrunk = volumetric_shrinkage * max(0.0, 1 - moisture / FIBRE_SATURATION)
    return WATER * basic / (1 - shrunk) * (1 + moisture / 100)


def _volumetric_shrinkage(timber: Timber, moisture: float) -> float:
    if timber.shrinkage_radial is None or timber.shrinkage_tangential is None:
        return 0.0
    total = timber.shrinkage_radial.value + timber.shrinkage_tangential.value
    return total * max(0.0, 1 - moisture / FIBRE_SATURATION)


def movement(timber: Timber, ring: Ring, moisture_from: float, moisture_to: float) -> float | None:
    """Change of a dimension across the grain as a fraction of it; negative is shrinking. None if not published.

    Within 6..14 % the dimensional-change coefficient (Wood Handbook FPL-GTR-190, equation 13-2), outside it, or
    without a coefficient, the form from total shrinkage (equation 13-1, from memory).
    """
    coefficient = timber.movement_radial if ring is Ring.RADIAL else timber.movement_tangential
    shrinkage = timber.shrinkage_radial if ring is Ring.RADIAL else timber.shrinkage_tangential
    low, high = COEFFICIENT_RANGE
    within = all(low <= moisture <= high for moisture in (moisture_from, moisture_to))
    if coefficient is not None and (within or shrinkage is None):
        return coefficient.value * (moisture_to - moisture_from)
    if shrinkage is None:
        return None
    start, end = min(moisture_from, FIBRE_SATURATION), min(moisture_to, FIBRE_SATURATION)
    return (end - start) / (FIBRE_SATURATION / shrinkage.value - FIBRE_SATURATION + start)


@dataclass(frozen=True, slots=True)
class Season:
    """The boss in one season of its climate: moisture in percent, changes in m (negative is shrinking).

    `thickness_change` is along the shaft with the rings lying worst (tangential), `thickness_change_radial` with
    them lying best; `circle_change` is the bolt circle's across the blades. Along the blades it hardly moves,
    so the circle goes oval by about `circle_change`.
    """

    name: str
    moisture: float
    thickness_change: float | None
    thickness_change_radial: float | None
    circle_change: float | None


SEASON_SWING = 0.15
"""Relative humidity either side of the climate's mean that the seasons are taken to reach: common practice, no source."""


def seasons(
    timber: Timber,
    thickness: float,
    circle: float | None,
    moisture: float,
    temperature: float,
    humidity: float,
) -> tuple[Season, ...]:
    """Boss movement from `moisture` at building to the mean, the dry and the damp season of its climate.

    `thickness` and `circle` in m, `moisture` in percent, `temperature` in degrees C, mean `humidity` 0..1.
    """

    def season(name: str, air: float) -> Season:
        settled = equilibrium_moisture(temperature, min(max(air, 0.0), 0.98))
        tangential = movement(timber, Ring.TANGENTIAL, moisture, settled)
        radial = movement(timber, Ring.RADIAL, moisture, settled)
        return Season(
            name=name,
            moisture=settled,
            thickness_change=None if tangential is None else thickness * tangential,
            thickness_change_radial=None if radial is None else thickness * radial,
            circle_change=None if tangential is None or circle is None else circle * tangential,
        )

    return (
        season("settled", humidity),
        season("dry season", humidity - SEASON_SWING),
        season("damp season", humidity + SEASON_SWING),
    )
