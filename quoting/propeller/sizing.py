"""Coefficients of one plan over pitch and advance ratio: every size at once, for sweeps and maps."""

import numpy as np
from numpy.typing import NDArray

from quoting.propeller.aerodynamics import OperatingPoints, Solver, subsonic_speed
from quoting.propeller.atmosphere import SEA_LEVEL, Air
from quoting.propeller.blade import Blade
from quoting.propeller.corrections import net_thrust
from quoting.propeller.crossing import crossing
from quoting.propeller.powerplant import Powerplant

Array = NDArray[np.float64]

_STANDING = 0.86
_RATIOS = np.linspace(0.30, 1.20, 16)
_HALVINGS = 9


class SizingChart:
    """C_P and C_T of one plan over pitch ratio and J at rated speed, for sweeps over diameter and pitch.

    Bilinear between 16 pitch ratios and 22 J; Mach and Reynolds numbers are those of the
    blade's own diameter at rated speed, standing at 0.86 of it.
    """

    RATIOS = _RATIOS

    def __init__(self, blade: Blade, speed: float, air: Air = SEA_LEVEL, wake: float = 0.0) -> None:
        self.air = air
        self.ratios = _RATIOS
        self.J = np.linspace(0.0, 1.25, 22)
        ratio, advance = (grid.ravel() for grid in np.meshgrid(self.ratios, self.J, indexing="ij"))
        # far beyond zero thrust nothing is looked up: keep the flow near the blade's own pitch
        advance = np.minimum(advance, 1.15 * ratio + 0.25)
        # a standing propeller turns slower than a flying one, which matters for its tip Mach number
        n = speed * (_STANDING + (1 - _STANDING) * np.minimum(advance / (0.7 * ratio), 1))
        n = subsonic_speed(advance, n, blade.diameter, air)
        points = OperatingPoints.at(advance * n * blade.diameter, n, air)
        solution = Solver(blade).with_pitches(ratio * blade.diameter, points, wake=wake)
        shape = (self.ratios.size, self.J.size)
        self.C_P, self.C_T = solution.C_P.reshape(shape), solution.C_T.reshape(shape)

    def _look(self, table: Array, ratio: Array, advance: Array) -> Array:
        r = _within((ratio - self.ratios[0]) / (self.ratios[1] - self.ratios[0]), self.ratios.size - 1.000001)
        a = _within(advance / self.J[1], self.J.size - 1.000001)
        i, j = r.astype(np.intp), a.astype(np.intp)
        f, g = r - i, a - j
        at = i * self.J.size + j
        low = table.take(at) * (1 - g) + table.take(at + 1) * g
        at += self.J.size
        high = table.take(at) * (1 - g) + table.take(at + 1) * g
        return np.asarray(low * (1 - f) + high * f)

    def power(self, diameter: Array, pitch: Array, v: Array, n: Array) -> Array:
        """Power absorbed in W; arguments broadcast, SI."""
        c_p = self._look(self.C_P, pitch / diameter, v / (n * diameter))
        return np.asarray(c_p * self.air.density * n**3 * diameter**5)

    def thrust(self, diameter: Array, pitch: Array, v: Array, n: Array) -> Array:
        """Thrust as quoted in N (`corrections.net_thrust`); arguments broadcast, SI."""
        ratio, advance = pitch / diameter, v / (n * diameter)
        c_t = self._look(self.C_T, ratio, advance) * net_thrust(advance, ratio)
        return np.asarray(c_t * self.air.density * n**2 * diameter**4)

    def full_throttle(
        self, powerplant: Powerplant, diameter: Array, pitch: Array, v: Array, *, low: bool = False
    ) -> Array:
        """Propeller speed in rev/s at which full throttle is absorbed, by bisection; arguments broadcast.

        In the chart's air, or with `low` at sea level where that is denser, with the chart's coefficients.
        """
        diameter, pitch, v = np.broadcast_arrays(diameter, pitch, v)
        air = SEA_LEVEL if low and self.air.density < SEA_LEVEL.density else self.air
        thicker = air.density / self.air.density

        def spare(n: Array) -> Array:
            return powerplant.available(n, air) - thicker * self.power(diameter, pitch, v, n)

        rated = np.full(v.shape, powerplant.speed)
        return crossing(spare, 0.3 * rated, 2.5 * rated, _HALVINGS)

    def pitch_for(self, power: Array, diameter: Array, v: Array, n: Array) -> Array:
        """Pitch in m at which `power` W is absorbed at `n`; NaN outside the chart. Arguments broadcast."""
        power, diameter, v, n = np.broadcast_arrays(power, diameter, v, n)
        low, high = np.full(v.shape, _RATIOS[0]), np.full(v.shape, _RATIOS[-1])

        def spare(ratio: Array) -> Array:
            return power - self.power(diameter, ratio * diameter, v, n)

        outside = (spare(low) < 0) | (spare(high) > 0)
        return np.where(outside, np.nan, crossing(spare, low, high, _HALVINGS) * diameter)


def _within(place: Array, last: float) -> Array:
    return np.minimum(np.maximum(place, 0), last)
