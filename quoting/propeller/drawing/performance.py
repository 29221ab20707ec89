"""Performance as pictures: power against rpm, thrust and efficiency against speed, stress along the blade."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from quoting.propeller.drawing.axes import STROKES, Axis, Chart
from quoting.propeller.drawing.lettering import Units
from quoting.propeller.drawing.svg import HIDDEN, circle, line, picture, text
from quoting.propeller.matching import Performance
from quoting.propeller.strength import Strength

WIDTH, HEIGHT = 520.0, 300.0
LEFT, RIGHT, TOP, BASE = 58.0, 470.0, 30.0, 250.0
HORSEPOWER = 745.69987
MPH = 0.44704
POUND_FORCE = 4.4482216
PSI = 6894.757
POWER_BAND = 0.07
THRUST_BAND, STATIC_THRUST_BAND = 0.07, 0.15
EFFICIENCY_BAND = 0.03
DOT = 'class="d-solid" fill="currentColor"'


@dataclass(frozen=True, slots=True)
class _Shown:
    """A unit on paper: what SI is divided by, and its name."""

    per: float
    name: str


def _units(units: Units) -> dict[str, _Shown]:
    if units == "in":
        return {
            "power": _Shown(HORSEPOWER, "hp"),
            "speed": _Shown(MPH, "mph"),
            "thrust": _Shown(POUND_FORCE, "lbf"),
            "stress": _Shown(PSI, "psi"),
        }
    return {
        "power": _Shown(1000.0, "kW"),
        "speed": _Shown(1 / 3.6, "km/h"),
        "thrust": _Shown(1.0, "N"),
        "stress": _Shown(1e6, "MPa"),
    }


def _top(values: Sequence[float]) -> float:
    """A little over the greatest number among the values."""
    return 1.12 * max(v for v in values if np.isfinite(v))


def power_svg(performance: Performance, units: Units = "in", *, name: str = "power") -> str:
    """Power available and absorbed against propeller rpm at full throttle, with the band of the absorbed.

    Where the lines cross the propeller settles: standing, and at top speed where one is known.
    """
    curves, shown = performance.curves, _units(units)["power"]
    rpm = 60 * curves.shaft_speed
    available = curves.available / shown.per
    standing = curves.absorbed_static / shown.per
    flying = None if curves.absorbed_top is None else curves.absorbed_top / shown.per
    chart = Chart(
        Axis(float(rpm[0]), float(rpm[-1]), LEFT, RIGHT, "propeller rev/min"),
        Axis(0.0, _top(list(available)) * 1.15, BASE, TOP, shown.name),
    )
    parts = chart.ground()
    parts.append(chart.band(rpm, standing * (1 - POWER_BAND), standing * (1 + POWER_BAND)))
    parts.append(chart.curve(rpm, available, STROKES[0]))
    start = len(rpm) // 3
    parts.append(chart.end_label(rpm[:start], available[:start], "engine gives", up=-8))
    parts.append(chart.curve(rpm, standing, STROKES[1]))
    parts.append(chart.end_label(rpm, standing, "absorbed standing", up=-4))
    if flying is not None:
        parts.append(chart.curve(rpm, flying, STROKES[2]))
        parts.append(chart.end_label(rpm, flying, "at top speed", up=16))
    flights = [("standing", performance.static)]
    if performance.top is not None:
        flights.append(("top speed", performance.top))
    said = []
    for words, flight in flights:
        at = chart.at(flight.rpm, flight.power / shown.per)
        parts += [
            circle(at, 4, DOT),
            line((at[0], at[1]), (at[0], BASE), HIDDEN),
            text((at[0], BASE - 6), f"{flight.rpm:.0f}", size=11, anchor="middle", strong=True),
        ]
        band = flight.rpm_band
        said.append(f"{words} {flight.rpm:.0f} rev/min ({band.low:.0f} to {band.high:.0f})")
    return picture(
        parts,
        WIDTH,
        HEIGHT,
        title="Power against rpm",
        description=f"Full throttle; {'; '.join(said)}.",
        name=name,
    )


def thrust_svg(performance: Performance, units: Units = "in", *, name: str = "thrust") -> str:
    """Thrust and efficiency against airspeed at full throttle with their bands; the airframe's drag where known."""
    curves, shown = performance.curves, _units(units)
    v = curves.airspeed / shown["speed"].per
    thrust = curves.thrust / shown["thrust"].per
    share = np.interp(
        curves.airspeed, [0, max(0.3 * float(curves.airspeed[-1]), 1e-9)], [STATIC_THRUST_BAND, THRUST_BAND]
    )
    chart = Chart(
        Axis(0.0, float(v[-1]), LEFT, RIGHT, shown["speed"].name),
        Axis(0.0, _top(list(thrust * (1 + share))), BASE, TOP, shown["thrust"].name),
    )
    other = Chart(chart.x, Axis(0.0, 1.0, BASE, TOP, "efficiency"))
    parts = [*chart.ground(), *other.ground(right=True, rules=False)]
    parts.append(chart.band(v, thrust * (1 - share), thrust * (1 + share)))
    parts.append(other.band(v, curves.efficiency - EFFICIENCY_BAND, curves.efficiency + EFFICIENCY_BAND))
    parts.append(chart.curve(v, thrust, STROKES[0]))
    third = len(v) // 3
    parts.append(chart.end_label(v[:third], thrust[:third], "thrust", up=-14))
    parts.append(other.curve(v, curves.efficiency, STROKES[1]))
    parts.append(other.end_label(v[: 2 * third], curves.efficiency[: 2 * third], "efficiency", up=-9))
    said = [f"standing thrust {thrust[0]:.0f} {shown['thrust'].name}"]
    if curves.drag is not None:
        drag = curves.drag / shown["thrust"].per
        parts.append(chart.curve(v, drag, STROKES[2]))
        parts.append(chart.end_label(v[: 2 * third], drag[: 2 * third], "drag", up=16))
    if performance.level_speed is not None:
        level = performance.level_speed / shown["speed"].per
        at = chart.at(level, float(np.interp(level, v, thrust)))
        parts += [
            circle(at, 4, DOT),
            line(at, (at[0], BASE), HIDDEN),
            text((at[0] - 4, BASE - 6), f"{level:.0f}", size=11, anchor="end", strong=True),
        ]
        said.append(f"thrust meets drag at {level:.0f} {shown['speed'].name}")
    best = int(np.nanargmax(curves.efficiency))
    said.append(f"best efficiency {curves.efficiency[best]:.2f} at {v[best]:.0f} {shown['speed'].name}")
    return picture(
        parts,
        WIDTH,
        HEIGHT,
        title="Thrust and efficiency against speed",
        description=f"Full throttle; {'; '.join(said)}.",
        name=name,
    )


def stress_svg(strength: Strength, units: Units = "in", *, name: str = "stress") -> str:
    """Greatest tension along the blade in each case, with the band of 20 % on the worst and its station marked."""
    shown = _units(units)["stress"]
    worst = strength.worst
    chart = Chart(
        Axis(0.0, 1.0, LEFT, RIGHT, "station, fraction of the radius"),
        Axis(0.0, _top(list(1.2 * worst.tension / shown.per)), BASE, TOP, shown.name),
    )
    parts = chart.ground()
    ordered = sorted(strength.cases, key=lambda case: -float(case.tension.max()))
    parts.append(chart.band(worst.r_R, 0.8 * worst.tension / shown.per, 1.2 * worst.tension / shown.per))
    for k, case in enumerate(ordered):
        stress = case.tension / shown.per
        stroke = STROKES[k % len(STROKES)]
        parts.append(chart.curve(case.r_R, stress, stroke))
        parts.append(line((RIGHT - 200, TOP + 4 + 15 * k), (RIGHT - 170, TOP + 4 + 15 * k), stroke))
        parts.append(text((RIGHT - 164, TOP + 8 + 15 * k), case.name, size=11))
    peak = float(np.interp(worst.worst_station, worst.r_R, worst.tension)) / shown.per
    at = chart.at(worst.worst_station, peak)
    parts += [
        circle(at, 4, DOT),
        line(at, (at[0], BASE), HIDDEN),
        text((at[0] + 8, BASE - 6), f"{worst.worst_station:.2f} R", size=11, strong=True),
    ]
    factor = "" if worst.tension_factor is None else f"; strength over stress {worst.tension_factor:.1f}"
    return picture(
        parts,
        WIDTH,
        HEIGHT,
        title="Stress along the blade",
        description=(
            f"Worst case {worst.name}: {peak:.3g} {shown.name} in tension at {worst.worst_station:.2f} of the "
            f"radius, give or take 20 %{factor}. Computed, not an approval."
        ),
        name=name,
    )
