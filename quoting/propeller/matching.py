"""What a given propeller does on a given engine and airframe: rpm, thrust and efficiency with their honest bands."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quoting.propeller.aerodynamics import (
    GREATEST_MACH,
    OperatingPoints,
    Solution,
    Solver,
    subsonic_speed,
)
from quoting.propeller.atmosphere import SEA_LEVEL, Air
from quoting.propeller.blade import Blade
from quoting.propeller.catalogue import Position
from quoting.propeller.corrections import net_thrust, slowness
from quoting.propeller.crossing import crossing
from quoting.propeller.powerplant import WAKE, Powerplant, Speeds, drag_area

__all__ = ["Band", "Curves", "Flight", "Performance", "Powerplant", "Speeds", "Unmatched", "performance"]

Array = NDArray[np.float64]

FEET = 0.3048
_MPH, _HORSEPOWER = 0.44704, 745.69987
_ADVANCES = 22
_HALVINGS = 12
_SLOWEST, _FASTEST = 0.25, 3.0
"""Propeller speeds over rated between which engine and propeller are brought together."""
_STEEP = (0.65, 0.85)
"""Pitch over diameter between which a standing blade comes to be stalled along much of its length: power absorbed is
then up to 13 % short of the wind tunnel's, as against 5 % below (`bin/validate`)."""
_STALLED_POWER = 0.08
_STALLED_SPEED = 0.03


@dataclass(frozen=True, slots=True)
class Band:
    """Where the true figure is expected, in the unit of the figure it goes with."""

    low: float
    high: float

    @classmethod
    def about(cls, value: float, share: float) -> "Band":
        return cls(value * (1 - share), value * (1 + share))


@dataclass(frozen=True, slots=True)
class Flight:
    """The propeller at one airspeed. SI; `speed` is the propeller's, rev/s.

    `thrust` and `efficiency` are net of what the slipstream costs the body behind and, the nearer to standing, of
    the method's known bias (`corrections.net_thrust`); `C_T` and `C_P` are the solver's own. Bands by comparison with
    tests: speed 3 %, power 7 %, thrust 7 % in flight, growing to 15 % standing, efficiency 0.03. A blade of
    much pitch stalls standing: then power may be 15 % more and speed 6 % less than stated.
    """

    airspeed: float
    speed: float
    thrust: float
    power: float
    torque: float
    efficiency: float
    J: float
    C_T: float
    C_P: float
    tip_speed: float
    tip_mach: float
    speed_band: Band
    power_band: Band
    thrust_band: Band
    efficiency_band: Band

    @property
    def rpm(self) -> float:
        return 60 * self.speed

    @property
    def rpm_band(self) -> Band:
        return Band(60 * self.speed_band.low, 60 * self.speed_band.high)

    @property
    def tip_speed_ft_s(self) -> float:
        """Rotational tip speed in ft/s, the trade's figure; `tip_mach` is helical."""
        return self.tip_speed / FEET


class Unmatched(ValueError):
    """Engine and propeller that do not run together where the method reaches, with figure and limit in `unit`.

    `code` and `field` are those of a finding: the check it fails and the part of the specification that mends it.
    """

    def __init__(
        self, code: str, field: str, message: str, figure: float | None, limit: float | None, unit: str
    ) -> None:
        super().__init__(f"{field}: {message}")
        self.code, self.field, self.message = code, field, message
        self.figure, self.limit, self.unit = figure, limit, unit


@dataclass(frozen=True, slots=True, eq=False)
class Curves:
    """Curves for pictures, full throttle. (m,) over `airspeed` m/s: `speed` rev/s, `thrust` N, `efficiency`.

    (q,) over `shaft_speed` rev/s: `available` W, `absorbed_static` W, and `absorbed_top` W (None without a top
    speed). `drag` N (m,) is the airframe's, None without a top speed.
    """

    airspeed: Array
    speed: Array
    thrust: Array
    efficiency: Array
    drag: Array | None
    shaft_speed: Array
    available: Array
    absorbed_static: Array
    absorbed_top: Array | None


@dataclass(frozen=True, slots=True, eq=False)
class Performance:
    """Full throttle standing, on the ground run, in the climb and at top speed; level flight at cruise speed.

    A flight is None where the airframe's speed is unknown. `level_speed` (m/s) and `level_shaft_speed` (rev/s)
    are where full-throttle thrust meets the drag; `dive_shaft_speed` (rev/s) is the wind-milling speed at
    never-exceed with the throttle closed. `static_solution` and `top_solution` hold the spanwise loads.
    """

    static: Flight
    take_off: Flight | None
    climb: Flight | None
    cruise: Flight | None
    top: Flight | None
    level_speed: float | None
    level_shaft_speed: float | None
    dive_shaft_speed: float | None
    curves: Curves
    solver: Solver
    air: Air
    wake: float

    @property
    def flights(self) -> dict[str, Flight]:
        """The known flights by name, in the order an airframe meets them."""
        named = {
            "static": self.static,
            "take-off": self.take_off,
            "climb": self.climb,
            "cruise": self.cruise,
            "top": self.top,
        }
        return {name: flight for name, flight in named.items() if flight is not None}

    def loads(self, airspeed: float, speed: float) -> Solution:
        """Spanwise loads at `airspeed` m/s and `speed` rev/s of this propeller as installed."""
        return self.solver.at(OperatingPoints.at(airspeed, speed, self.air), wake=self.wake)


def performance(
    blade: Blade,
    powerplant: Powerplant,
    speeds: Speeds | None = None,
    *,
    air: Air = SEA_LEVEL,
    position: Position = Position.TRACTOR,
) -> Performance:
    """What `blade` does behind `powerplant` at `speeds` in `air`.

    Raises Unmatched where engine and propeller meet at no speed the method covers.
    """
    speeds = speeds or Speeds()
    wake = WAKE[position]
    solver = Solver(blade)
    chart = _Chart(solver, powerplant, air, wake)
    full = {"static": 0.0, "take-off": speeds.take_off, "climb": speeds.best_climb(), "top": speeds.top}
    wanted = {name: v for name, v in full.items() if v is not None}
    area = None if speeds.top is None else drag_area(powerplant, speeds.top)
    v = np.array([*wanted.values()])
    n = chart.full_throttle(v)
    chart.require_match(v, n)
    if area is not None and speeds.cruise is not None:
        v, n = np.append(v, speeds.cruise), np.append(n, chart.level(speeds.cruise, area))
        wanted["cruise"] = speeds.cruise
    chart.require_subsonic(v, n)
    solution, n = _settled(chart, v, n, area if "cruise" in wanted else None)
    flights = {name: _flight(solution, i, v[i], n[i], blade, air) for i, name in enumerate(wanted)}
    curves = _curves(chart, speeds, area)
    level = _level(curves)
    return Performance(
        static=flights["static"],
        take_off=flights.get("take-off"),
        climb=flights.get("climb"),
        cruise=flights.get("cruise"),
        top=flights.get("top"),
        level_speed=level[0],
        level_shaft_speed=level[1],
        dive_shaft_speed=None if speeds.never_exceed is None else chart.windmilling(speeds.never_exceed),
        curves=curves,
        solver=solver,
        air=air,
        wake=wake,
    )


class _Chart:
    """C_P and C_T of one blade over J at rated speed: where the direct solutions start from."""

    def __init__(self, solver: Solver, powerplant: Powerplant, air: Air, wake: float) -> None:
        self.solver, self.powerplant, self.air, self.wake = solver, powerplant, air, wake
        blade = solver.blade
        self.diameter = blade.diameter
        self.ratio = max(float(blade.pitch_m(0.75)) / blade.diameter, 0.2)
        self.J = np.linspace(0.0, 1.35 * self.ratio + 0.35, _ADVANCES)
        n = subsonic_speed(self.J, powerplant.speed, self.diameter, air)
        points = OperatingPoints.at(self.J * n * self.diameter, n, air)
        solution = solver.at(points, wake=wake)
        self.C_P, self.C_T = solution.C_P, solution.C_T

    def power(self, v: Array, n: Array) -> Array:
        return np.asarray(
            np.interp(v / (n * self.diameter), self.J, self.C_P) * self.air.density * n**3 * self.diameter**5
        )

    def thrust(self, v: Array, n: Array) -> Array:
        advance = v / (n * self.diameter)
        c_t = np.interp(advance, self.J, self.C_T) * net_thrust(advance, np.asarray(self.ratio))
        return np.asarray(c_t * self.air.density * n**2 * self.diameter**4)

    def supply(self, _v: Array, n: Array) -> Array:
        """Full-throttle power in W, whatever the airspeed."""
        return self.powerplant.available(n, self.air)

    def full_throttle(self, v: Array) -> Array:
        """Propeller speed in rev/s at which the blade absorbs full throttle, held at the ends of the range."""
        rated = np.full(v.shape, self.powerplant.speed)

        def spare(n: Array) -> Array:
            return self.supply(v, n) - self.power(v, n)

        return crossing(spare, _SLOWEST * rated, _FASTEST * rated, _HALVINGS)

    def require_match(self, v: Array, n: Array) -> None:
        """Raises Unmatched where full throttle is not absorbed at the speeds `n` found for the airspeeds `v`."""
        share = n / self.powerplant.speed
        wrong = np.flatnonzero((share < 1.001 * _SLOWEST) | (share > 0.999 * _FASTEST))
        if not wrong.size:
            return
        i = int(wrong[0])
        rated = np.array([self.powerplant.speed])
        taken, given = float(self.power(v[i : i + 1], rated)[0]), float(self.supply(v[i : i + 1], rated)[0])
        rpm, large = 60 * self.powerplant.speed, share[i] < 1
        word = "Standing" if v[i] == 0 else f"At {v[i] / _MPH:.0f} mph"
        message = (
            f"{word}, this propeller would need {taken / _HORSEPOWER:.0f} hp to turn at the rated {rpm:.0f} rpm and full "
            f"throttle gives {given / _HORSEPOWER:.0f}: it is far too large or too coarse for this engine"
            if large
            else f"{word}, this propeller takes only {max(taken, 0) / _HORSEPOWER:.1f} hp at the rated {rpm:.0f} rpm where "
            f"full throttle gives {given / _HORSEPOWER:.0f}: the engine would run away, it is far too small or too fine"
        )
        raise Unmatched("power-mismatch", "diameter" if large else "pitch", message, taken, given, "W")

    def require_subsonic(self, v: Array, n: Array) -> None:
        """Raises Unmatched where the tips would run faster than the method reaches."""
        mach = np.hypot(np.pi * self.diameter * n, v) / self.air.sound
        if mach.max() > 0.98 * GREATEST_MACH:
            i = int(np.argmax(mach))
            message = (
                f"The tips would pass the speed of sound (Mach {mach[i]:.2f} at {60 * n[i]:.0f} rpm and full throttle): "
                "a smaller diameter or more pitch is needed"
            )
            raise Unmatched("tip-mach", "diameter", message, float(mach[i]), 1.0, "Mach")

    def level(self, v: float, area: float) -> float:
        """Propeller speed in rev/s at which net thrust meets the drag at `v`."""
        drag = 0.5 * self.air.density * v**2 * area
        n = np.linspace(0.3, 2.5, 441) * self.powerplant.speed
        return float(n[np.argmax(self.thrust(np.full_like(n, v), n) >= drag)])

    def windmilling(self, v: float) -> float:
        """Propeller speed in rev/s at which the blade takes no power at `v`: the closed-throttle glide."""
        driving = np.flatnonzero(self.C_P <= 0)
        last = int(driving[0]) if driving.size else self.J.size - 1
        j = np.interp(0.0, -self.C_P[last - 1 : last + 1], self.J[last - 1 : last + 1])
        return float(v / (j * self.diameter))


def _settled(chart: _Chart, v: Array, n: Array, area: float | None) -> tuple[Solution, Array]:
    """Direct solutions at the speeds of the chart, after one Newton step; with `area` the last flies level."""
    for _ in range(2):
        points = OperatingPoints.at(v, n, chart.air)
        solution = chart.solver.at(points, wake=chart.wake)
        wanted = np.asarray(chart.supply(v, n) / np.maximum(solution.power, 1.0))
        slope = _slope(chart.power, v, n) - _slope(chart.supply, v, n)
        if area is not None:
            drag = 0.5 * chart.air.density * float(v[-1]) ** 2 * area
            pull = float(solution.thrust[-1] * net_thrust(solution.J[-1], np.asarray(chart.ratio)))
            wanted[-1] = drag / max(pull, 1.0)
            slope[-1] = _slope(chart.thrust, v, n)[-1]
        n = np.asarray(n * np.clip(wanted, 0.5, 2.0) ** (1 / np.maximum(slope, 1.0)))
    return chart.solver.at(OperatingPoints.at(v, n, chart.air), wake=chart.wake), n


def _slope(law: Callable[[Array, Array], Array], v: Array, n: Array) -> Array:
    """d ln(law) / d ln(n) by a central difference."""
    up, down = law(v, 1.01 * n), law(v, 0.99 * n)
    return np.asarray(np.log(np.maximum(up, 1e-3) / np.maximum(down, 1e-3)) / np.log(1.01 / 0.99))


def _flight(solution: Solution, i: int, v: float, n: float, blade: Blade, air: Air) -> Flight:
    standing, ratio = v == 0, max(float(blade.pitch_m(0.75)) / blade.diameter, 0.2)
    advance, pitched = solution.J[i], np.asarray(ratio)
    thrust = float(solution.thrust[i] * net_thrust(advance, pitched))
    efficiency = max(float(thrust * v) / max(float(solution.power[i]), 1.0), 0.0)
    tip = np.pi * blade.diameter * n
    power, stalled = float(solution.power[i]), _stalled(blade) if standing else 0.0
    return Flight(
        airspeed=float(v),
        speed=float(n),
        thrust=thrust,
        power=float(solution.power[i]),
        torque=float(solution.torque[i]),
        efficiency=efficiency,
        J=float(solution.J[i]),
        C_T=float(solution.C_T[i]),
        C_P=float(solution.C_P[i]),
        tip_speed=float(tip),
        tip_mach=float(np.hypot(tip, v) / air.sound),
        speed_band=Band(float(n) * (0.97 - _STALLED_SPEED * stalled), float(n) * 1.03),
        power_band=Band(0.93 * power, (1.07 + _STALLED_POWER * stalled) * power),
        thrust_band=Band.about(thrust, 0.07 + 0.08 * float(slowness(advance, pitched))),
        efficiency_band=Band(max(efficiency - 0.03, 0.0), efficiency + 0.03),
    )


def _stalled(blade: Blade) -> float:
    """How far a standing blade counts as stalled, 0 to 1, by its pitch over its diameter."""
    return float(np.interp(float(blade.pitch_m(0.75)) / blade.diameter, _STEEP, (0.0, 1.0)))


def _curves(chart: _Chart, speeds: Speeds, area: float | None) -> Curves:
    fastest = 1.25 * speeds.top if speeds.top else 0.8 * chart.J[-1] * chart.powerplant.speed * chart.diameter
    v = np.linspace(0.0, fastest, 41)
    n = chart.full_throttle(v)
    thrust = chart.thrust(v, n)
    power = chart.power(v, n)
    shaft = np.linspace(0.5, 1.2, 36) * chart.powerplant.speed
    still = np.zeros_like(shaft)
    return Curves(
        airspeed=v,
        speed=n,
        thrust=thrust,
        efficiency=np.clip(v * thrust / np.maximum(power, 1.0), 0, 1),
        drag=None if area is None else 0.5 * chart.air.density * v**2 * area,
        shaft_speed=shaft,
        available=chart.powerplant.available(shaft, chart.air),
        absorbed_static=chart.power(still, shaft),
        absorbed_top=None if speeds.top is None else chart.power(still + speeds.top, shaft),
    )


def _level(curves: Curves) -> tuple[float | None, float | None]:
    """Where thrust meets drag along the curves: (airspeed m/s, shaft speed rev/s)."""
    if curves.drag is None:
        return None, None
    spare = curves.thrust - curves.drag
    short = np.flatnonzero(spare < 0)
    if not short.size or short[0] == 0:
        return None, None
    i = int(short[0])
    share = spare[i - 1] / (spare[i - 1] - spare[i])
    between = slice(i - 1, i + 1)
    speed, shaft = (np.interp(share, [0, 1], values[between]) for values in (curves.airspeed, curves.speed))
    return float(speed), float(shaft)
