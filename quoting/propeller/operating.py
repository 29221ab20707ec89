"""Where a propeller is asked about, and what it does there: operating points in, coefficients and loads out."""

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quoting.propeller.atmosphere import SEA_LEVEL, Air

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class OperatingPoints:
    """Airspeed m/s, rotation rev/s, density kg/m3, speed of sound m/s, viscosity m2/s: all of shape (m,)."""

    airspeed: Array
    speed: Array
    density: Array
    sound: Array
    viscosity: Array

    @classmethod
    def at(cls, airspeed: ArrayLike, speed: ArrayLike, air: Air = SEA_LEVEL) -> Self:
        """Points in one air; `airspeed` (m/s, 0 or more) and `speed` (rev/s, more than 0) broadcast.

        Raises ValueError naming the column and the point.
        """
        given = np.broadcast_arrays(np.asarray(airspeed, dtype=float), np.asarray(speed, dtype=float))
        v, n = (np.atleast_1d(a).ravel() for a in given)
        _usable("airspeed", v, v >= 0, 400.0)
        _usable("speed", n, n > 0, 2000.0)
        return cls(v, n, *(np.full_like(v, value) for value in (air.density, air.sound, air.viscosity)))

    @classmethod
    def with_density(cls, airspeed: ArrayLike, speed: ArrayLike, density: ArrayLike) -> Self:
        """Points each with its own density, at standard sea-level temperature."""
        v, n, rho = (
            np.atleast_1d(a).ravel()
            for a in np.broadcast_arrays(*(np.asarray(a, dtype=float) for a in (airspeed, speed, density)))
        )
        points = cls.at(v, n)
        _usable("density", rho, rho > 0, 2.0)
        return cls(v, n, rho, points.sound, SEA_LEVEL.viscosity * SEA_LEVEL.density / rho)

    def part(self, start: int, count: int) -> Self:
        """`count` points from `start` on."""
        chosen = slice(start, start + count)
        return type(self)(
            self.airspeed[chosen],
            self.speed[chosen],
            self.density[chosen],
            self.sound[chosen],
            self.viscosity[chosen],
        )


def _usable(name: str, values: Array, accepted: NDArray[np.bool_], most: float) -> None:
    wrong = np.flatnonzero(~(accepted & (values <= most)))
    if wrong.size:
        first = int(wrong[0])
        raise ValueError(f"{name}: point {first + 1}: {values[first]:g} given, accepted is up to {most:g}")


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """What the blade does at m points and k stations. Coefficients use rho, n (rev/s) and D.

    (m,): `J` = V/(nD); `C_T` = T/(rho n^2 D^4); `C_P` = P/(rho n^3 D^5); `efficiency` = J C_T / C_P, NaN where
    the propeller does not pull on power; `thrust` N, `torque` N m, `power` W of the whole propeller.
    (k,): `radius` m, `width` m (quadrature weights). (m, k): `thrust_per_m` N/m and `torque_per_m` N m/m of ONE
    blade, `alpha` rad to the chord line, `phi` rad, `lift`, `drag` coefficients, `mach`, `reynolds`.
    """

    J: Array
    C_T: Array
    C_P: Array
    efficiency: Array
    thrust: Array
    torque: Array
    power: Array
    radius: Array
    width: Array
    thrust_per_m: Array
    torque_per_m: Array
    alpha: Array
    phi: Array
    lift: Array
    drag: Array
    mach: Array
    reynolds: Array


def subsonic_speed(advance: Array, speed: ArrayLike, diameter: float, air: Air) -> Array:
    """`speed` in rev/s, or less where flying at `advance` would bring the helical tip past Mach 0.95."""
    return np.minimum(speed, 0.95 * air.sound / (diameter * np.hypot(np.pi, advance)))
