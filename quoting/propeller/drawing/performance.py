"""Performance as pictures: power against rpm, thrust and efficiency against speed, stress along the blade."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from quoting.propeller.drawing.axes import (
    BASE,
    LEFT,
    RIGHT,
    ROW,
    STROKES,
    WIDTH,
    Axis,
    Chart,
    Mark,
    key,
    marked,
    stroke_sign,
)
from quoting.propeller.drawing.lettering import Units, grouped
from quoting.propeller.drawing.svg import picture
from quoting.propeller.matching import Band, Flight, Performance
from quoting.propeller.strength import Strength

TOP = 60.0
"""Upper end of the plot: two rows of words and the axis's name stand above it."""
HORSEPOWER = 745.69987
MPH = 0.44704
POUND_FORCE = 4.4482216
PSI = 6894.757
STRESS_BAND = 0.20


@dataclass(frozen=True, slots=True)
class Shown:
    """A unit on paper: what SI is divided by, and its name."""

    per: float
    name: str


def shown_units(units: Units) -> dict[str, Shown]:
    """Power, speed, thrust and stress as read in a shop of inches or of millimetres."""
    if units == "in":
        return {
            "power": Shown(HORSEPOWER, "hp"),
            "speed": Shown(MPH, "mph"),
            "thrust": Shown(POUND_FORCE, "lbf"),
            "stress": Shown(PSI, "psi"),
        }
    return {
        "power": Shown(1000.0, "kW"),
        "speed": Shown(1 / 3.6, "km/h"),
        "thrust": Shown(1.0, "N"),
        "stress": Shown(1e6, "MPa"),
    }


def _top(values: Sequence[float]) -> float:
    """A little over the greatest number among the values."""
    return 1.12 * max(v for v in values if np.isfinite(v))


def _share(band: Band, value: float) -> float:
    """Half width of a band as a fraction of its figure."""
    return 0.5 * (band.high - band.low) / abs(value) if value else 0.0


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _drawn(
    parts: list[str], entries: list[tuple[str, str]], *, title: str, description: str, name: str
) -> str:
    words, end = key(entries, BASE + 56)
    return picture([*parts, *words], WIDTH, end - ROW + 10, title=title, description=description, name=name)


def power_svg(performance: Performance, units: Units = "in", *, name: str = "power") -> str:
    """Power available and absorbed against propeller rpm at full throttle, with the band of the absorbed.

    Where the lines cross the propeller settles: standing, and at top speed where one is known.
    """
    curves, shown = performance.curves, shown_units(units)["power"]
    rpm = 60 * curves.shaft_speed
    available = curves.available / shown.per
    standing = curves.absorbed_static / shown.per
    chart = Chart(
        Axis(float(rpm[0]), float(rpm[-1]), LEFT, RIGHT, "propeller rev/min"),
        Axis(0.0, _top(list(available)) * 1.05, BASE, TOP, shown.name),
    )
    share = _share(performance.static.power_band, performance.static.power)
    parts = chart.ground()
    within = standing * (1 - share) <= chart.y.high
    parts.append(chart.band(rpm[within], (standing * (1 - share))[within], (standing * (1 + share))[within]))
    parts += [chart.curve(rpm, available, STROKES[0]), chart.curve(rpm, standing, STROKES[1])]
    entries = [
        (stroke_sign(STROKES[0]), "the engine gives, full throttle"),
        (stroke_sign(STROKES[1]), f"the propeller absorbs standing, give or take {_percent(share)}"),
    ]
    if curves.absorbed_top is not None:
        parts.append(chart.curve(rpm, curves.absorbed_top / shown.per, STROKES[2]))
        entries.append((stroke_sign(STROKES[2]), "the propeller absorbs at top speed"))
    marks, said = [], []
    flights = {"standing": performance.static, "top speed": performance.top}
    for words, flight in flights.items():
        if flight is None:
            continue
        marks.append(Mark(flight.rpm, flight.power / shown.per, f"{words} {flight.rpm:.0f}"))
        band = flight.rpm_band
        said.append(f"{words} {flight.rpm:.0f} rev/min ({band.low:.0f} to {band.high:.0f})")
    parts += marked(chart, [m for m in marks if chart.holds(m.x, m.y)], top=TOP - 26)[0]
    return _drawn(
        parts, entries, title="Power against rpm", description=f"Full throttle; {'; '.join(said)}.", name=name
    )


def _fastest(performance: Performance) -> Flight:
    """The fastest flight that is known, whose bands hold in the air."""
    return performance.top or performance.cruise or performance.climb or performance.static


def thrust_svg(performance: Performance, units: Units = "in", *, name: str = "thrust") -> str:
    """Thrust and efficiency against airspeed at full throttle with their bands; the airframe's drag where known."""
    curves, shown = performance.curves, shown_units(units)
    v = curves.airspeed / shown["speed"].per
    thrust = curves.thrust / shown["thrust"].per
    flying, standing = _fastest(performance), performance.static
    ends = [_share(f.thrust_band, f.thrust) for f in (standing, flying)]
    share = np.interp(curves.airspeed, [0, max(0.3 * float(curves.airspeed[-1]), 1e-9)], ends)
    chart = Chart(
        Axis(0.0, float(v[-1]), LEFT, RIGHT, shown["speed"].name),
        Axis(0.0, _top(list(thrust * (1 + share))), BASE, TOP, shown["thrust"].name),
    )
    other = Chart(chart.x, Axis(0.0, 1.0, BASE, TOP, "efficiency"))
    parts = [*chart.ground(), *other.ground(right=True, rules=False)]
    parts.append(chart.band(v, thrust * (1 - share), thrust * (1 + share)))
    wide = 0.5 * (flying.efficiency_band.high - flying.efficiency_band.low)
    parts.append(other.band(v, curves.efficiency - wide, curves.efficiency + wide))
    parts += [chart.curve(v, thrust, STROKES[0]), other.curve(v, curves.efficiency, STROKES[1])]
    entries = [
        (
            stroke_sign(STROKES[0]),
            f"thrust, give or take {_percent(ends[0])} standing, {_percent(ends[1])} flying",
        ),
        (stroke_sign(STROKES[1]), f"efficiency, give or take {wide:.2f} (right scale)"),
    ]
    said = [f"standing thrust {grouped(float(thrust[0]))} {shown['thrust'].name}"]
    if curves.drag is not None:
        parts.append(chart.curve(v, curves.drag / shown["thrust"].per, STROKES[2]))
        entries.append((stroke_sign(STROKES[2]), "the airframe's drag, from its top speed"))
    marks = []
    if performance.level_speed is not None:
        level = performance.level_speed / shown["speed"].per
        marks.append(
            Mark(level, float(np.interp(level, v, thrust)), f"level {level:.0f} {shown['speed'].name}")
        )
        said.append(f"thrust meets drag at {level:.0f} {shown['speed'].name}")
    parts += marked(chart, [m for m in marks if chart.holds(m.x, m.y)], top=TOP - 26)[0]
    best = int(np.nanargmax(curves.efficiency))
    said.append(f"best efficiency {curves.efficiency[best]:.2f} at {v[best]:.0f} {shown['speed'].name}")
    return _drawn(
        parts,
        entries,
        title="Thrust and efficiency against speed",
        description=f"Full throttle; {'; '.join(said)}.",
        name=name,
    )


def stress_svg(strength: Strength, units: Units = "in", *, name: str = "stress") -> str:
    """Greatest tension along the blade in each case, with the band of 20 % on the worst and its station marked."""
    shown = shown_units(units)["stress"]
    worst = strength.worst
    upper = (1 + STRESS_BAND) * worst.tension / shown.per
    chart = Chart(
        Axis(0.0, 1.0, LEFT, RIGHT, "station, fraction of the radius"),
        Axis(0.0, _top(list(upper)), BASE, TOP, shown.name),
    )
    parts = chart.ground()
    ordered = sorted(strength.cases, key=lambda case: -float(case.tension.max()))
    parts.append(chart.band(worst.r_R, (1 - STRESS_BAND) * worst.tension / shown.per, upper))
    entries = []
    for k, case in enumerate(ordered):
        stroke = STROKES[k % len(STROKES)]
        parts.append(chart.curve(case.r_R, case.tension / shown.per, stroke))
        about = f", give or take {_percent(STRESS_BAND)}" if case is worst else ""
        entries.append((stroke_sign(stroke), f"{case.name}{about}"))
    peak = float(np.interp(worst.worst_station, worst.r_R, worst.tension)) / shown.per
    figure = grouped(round(peak, -1)) if peak >= 1000 else f"{peak:.3g}"
    at = Mark(worst.worst_station, peak, f"{figure} {shown.name} at {worst.worst_station:.2f} R")
    parts += marked(chart, [at], top=TOP - 26)[0]
    factor = "" if worst.tension_factor is None else f"; strength over stress {worst.tension_factor:.1f}"
    return _drawn(
        parts,
        entries,
        title="Stress along the blade",
        description=(
            f"Worst case {worst.name}: {figure} {shown.name} in tension at {worst.worst_station:.2f} of the "
            f"radius, give or take {_percent(STRESS_BAND)}{factor}. Computed, not an approval."
        ),
        name=name,
    )
