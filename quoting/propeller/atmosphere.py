"""The standard atmosphere up to 11 km, and what altitude leaves of a piston engine's power."""

from dataclasses import dataclass
from typing import Self

SEA_LEVEL_TEMPERATURE = 288.15
SEA_LEVEL_PRESSURE = 101_325.0
SEA_LEVEL_DENSITY = 1.225
_LAPSE = 0.0065
_GAS = 287.05287
_GRAVITY = 9.80665
_GAMMA = 1.4
LOWEST, HIGHEST = -500.0, 11_000.0


@dataclass(frozen=True, slots=True)
class Air:
    """Air at rest: density kg/m3, speed of sound m/s, kinematic viscosity m2/s, temperature K, pressure Pa."""

    density: float
    sound: float
    viscosity: float
    temperature: float
    pressure: float

    @classmethod
    def at(cls, altitude: float, offset: float = 0.0) -> Self:
        """Standard air at geopotential `altitude` (m, -500 to 11 000), `offset` K warmer than standard.

        ICAO Doc 7488 constants; viscosity by Sutherland's law. Raises ValueError outside the range.

        >>> round(Air.at(3000).density, 5)
        0.90912
        """
        if not LOWEST <= altitude <= HIGHEST:
            raise ValueError(f"altitude: {altitude:g} m given, accepted are {LOWEST:g} to {HIGHEST:g} m")
        if not -60 <= offset <= 60:
            raise ValueError(f"offset: {offset:g} K given, accepted are -60 to 60 K")
        standard = SEA_LEVEL_TEMPERATURE - _LAPSE * altitude
        pressure = SEA_LEVEL_PRESSURE * (standard / SEA_LEVEL_TEMPERATURE) ** (_GRAVITY / (_GAS * _LAPSE))
        return cls.of(standard + offset, pressure)

    @classmethod
    def of(cls, temperature: float, pressure: float) -> Self:
        """Dry air at `temperature` (K) and `pressure` (Pa)."""
        density = pressure / (_GAS * temperature)
        dynamic = 1.458e-6 * temperature**1.5 / (temperature + 110.4)
        sound = float((_GAMMA * _GAS * temperature) ** 0.5)
        return cls(density, sound, dynamic / density, temperature, pressure)


SEA_LEVEL = Air.at(0.0)


def power_fraction(air: Air) -> float:
    """Full-throttle power of an unboosted piston engine in `air`, as a fraction of sea level.

    Gagg and Ferrar (SAE Journal, 1934; from memory): 1.132 sigma - 0.132 with sigma the density ratio.
    """
    return max(0.0, 1.132 * air.density / SEA_LEVEL_DENSITY - 0.132)
