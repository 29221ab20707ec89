"""Thrust, power and loads of a blade over arrays of operating points: the solver's one door."""

import numpy as np
from numpy.typing import NDArray

from quoting.propeller import sections
from quoting.propeller.blade import Blade
from quoting.propeller.corrections import BARE, BODY_DRAG, STANDING_THRUST, WOODEN, Corrections
from quoting.propeller.momentum import Rows, loads
from quoting.propeller.operating import OperatingPoints, Solution, subsonic_speed
from quoting.propeller.polars import Polar, clark_y_family

__all__ = [
    "BARE",
    "BODY_DRAG",
    "STANDING_THRUST",
    "WOODEN",
    "Corrections",
    "OperatingPoints",
    "Solution",
    "Solver",
    "solve",
    "subsonic_speed",
]

Array = NDArray[np.float64]

STATIONS = 14
GREATEST_MACH = 1.2
_BLOCK = 768


def solve(
    blade: Blade,
    points: OperatingPoints,
    *,
    polar: Polar | None = None,
    corrections: Corrections = WOODEN,
    wake: float = 0.0,
    stations: int | None = STATIONS,
) -> Solution:
    """Thrust, power and loads of `blade` at `points`.

    `polar` replaces the project's Clark-Y table. `wake` is the fraction the body takes off the airspeed at the
    disc (J keeps the airspeed itself). `stations` is the number of Gauss-Legendre stations between hub and tip;
    None uses the blade's own stations by the trapezoidal rule with no load at hub and tip.

    >>> blade = Blade.wooden(diameter=1.8288, pitch=1.1176)
    >>> result = solve(blade, OperatingPoints.at([0.0, 40.0], 2300 / 60))
    >>> bool(result.C_T[0] > result.C_T[1])
    True
    """
    return Solver(blade, polar=polar, corrections=corrections, stations=stations).at(points, wake=wake)


class Solver:
    """`solve` with the blade's tables prepared once, for callers that come back to the same blade."""

    def __init__(
        self,
        blade: Blade,
        *,
        polar: Polar | None = None,
        corrections: Corrections = WOODEN,
        stations: int | None = STATIONS,
    ) -> None:
        self.blade = blade
        self._x, self._width = _quadrature(blade, stations)
        self._corrections = corrections
        self._rows = Rows(blade, self._x, polar or clark_y_family(), corrections)

    def at(self, points: OperatingPoints, *, wake: float = 0.0) -> Solution:
        """The blade as it stands at `points`."""
        return self._solved(self.blade.chord_line_angle_rad(self._x)[:, None], points, wake)

    def with_pitches(self, pitches: Array, points: OperatingPoints, *, wake: float = 0.0) -> Solution:
        """The same plan with a constant flat-face pitch in m of its own at every point: `pitches` (m,)."""
        offset = sections.flat_face_offset(self.blade.thickness_ratio(self._x))
        angle = np.arctan(pitches / (np.pi * self.blade.diameter * self._x[:, None])) + offset[:, None]
        return self._solved(angle, points, wake)

    def _solved(self, angle: Array, points: OperatingPoints, wake: float) -> Solution:
        _subsonic(np.hypot(np.pi * self.blade.diameter * points.speed, points.airspeed) / points.sound)
        full = np.broadcast_to(angle, (self._x.size, points.speed.size))
        blocks = [
            loads(self._rows, full[:, start : start + _BLOCK], points.part(start, _BLOCK), wake, start)
            for start in range(0, points.speed.size, _BLOCK)
        ]
        fields = {name: np.concatenate([block[name] for block in blocks]) for name in blocks[0]}
        radius = self.blade.radius
        return _solution(self.blade, points, self._x * radius, self._width * radius, fields)


def _subsonic(mach: Array) -> None:
    beyond = np.flatnonzero(mach > GREATEST_MACH)
    if beyond.size:
        first = int(beyond[0])
        raise ValueError(
            f"tip speed: point {first + 1}: helical tip Mach number {mach[first]:.2f}, "
            f"the method covers up to {GREATEST_MACH:g}"
        )


def _quadrature(blade: Blade, stations: int | None) -> tuple[Array, Array]:
    """Stations and weights as fractions of the radius; hub and tip themselves carry no load."""
    hub = blade.hub_fraction
    if stations is None:
        x = blade.r_R[(blade.r_R > hub) & (blade.r_R < 1)]
        ends = np.concatenate([[hub], x, [1.0]])
        return x, 0.5 * (ends[2:] - ends[:-2])
    node, weight = np.polynomial.legendre.leggauss(stations)
    return hub + 0.5 * (1 - hub) * (node + 1), 0.5 * (1 - hub) * weight


def _solution(
    blade: Blade, points: OperatingPoints, radius: Array, width: Array, fields: dict[str, Array]
) -> Solution:
    n, rho, diameter = points.speed, points.density, blade.diameter
    thrust = blade.blades * fields["thrust_per_m"] @ width
    torque = blade.blades * fields["torque_per_m"] @ width
    power = 2 * np.pi * n * torque
    advance = points.airspeed / (n * diameter)
    c_t, c_p = thrust / (rho * n**2 * diameter**4), power / (rho * n**3 * diameter**5)
    pulling = (c_p > 0) & (c_t >= 0)
    efficiency = np.where(pulling, advance * c_t / np.where(pulling, c_p, 1), np.nan)
    return Solution(
        J=advance,
        C_T=c_t,
        C_P=c_p,
        efficiency=efficiency,
        thrust=thrust,
        torque=torque,
        power=power,
        radius=radius,
        width=width,
        **fields,
    )
