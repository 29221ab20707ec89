"""Which diameter and pitch to offer: climb, standard and cruise propellers, each with what it gives up."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from quoting.propeller.atmosphere import SEA_LEVEL, Air
from quoting.propeller.blade import Blade
from quoting.propeller.catalogue import Position, TipForm
from quoting.propeller.powerplant import WAKE, Powerplant, Speeds
from quoting.propeller.sizing import SizingChart

Array = NDArray[np.float64]

INCH = 0.0254
_MPH = 0.44704
_HORSEPOWER = 745.69987
DIAMETER_CONSTANT = 3870.0
"""K in D_in = K (hp / (rpm^2 mph))^(1/4), two blades: fitted to 17 certified combinations, 3763 to 4110."""
BLADE_DIAMETER = {2: 1.0, 3: 0.935, 4: 0.894}
"""Diameter against two blades at equal power, from C_P rising by 1.4 and 1.75 and C_P D^5 held."""
TIP_MACH = 0.85
TIP_MACH_QUIET = 0.80
TIP_SPEED = 900 * 0.3048
"""Rotational tip speed in m/s that wooden tips are kept below; common practice, no source."""
_ROUNDED = 0.99
"""Share of it aimed at: half inches of pitch are worth up to a hundredth of the rpm."""
_REACH = (0.88, 1.08)
_STATIC_WEIGHT = 0.25
_EXPERIENCE_WEIGHT = 0.5
"""How fast the score falls with the squared departure from the rule's diameter: along the flat top of efficiency and
thrust, where the chart cannot tell one diameter from the next, the certified ones decide."""


_NEAR = 0.86
"""Share of the largest diameter from which scores count for the parabola: smaller ones are far from the best."""
_LEAST_BEND = 0.01
"""Least curvature the parabola through the scores is given over the diameters tried, that a flat one has one top."""


class Character(StrEnum):
    """What a recommended propeller is for, by its full-throttle rpm in level flight."""

    CLIMB = "climb"
    STANDARD = "standard"
    CRUISE = "cruise"


TOP_SPEED_RATIO = {Character.STANDARD: 1.03, Character.CLIMB: 1.07, Character.CRUISE: 1.00}
"""Full-throttle level rpm over rated; 1.03 reproduces certified pitches within 0.8 +- 1.8 in."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What bounds the choice: diameters in m (None: no bound), helical tip Mach, and the boss to clear in m.

    `max_name` and `min_name` say in words what sets the diameters. `quiet` lowers the tip Mach to 0.80 if the limit
    given is higher.
    """

    diameter_max: float | None = None
    diameter_min: float | None = None
    max_name: str = "clearance or the airframe's largest diameter"
    min_name: str = "the airframe's smallest diameter"
    tip_mach: float = TIP_MACH
    quiet: bool = False
    boss_diameter: float = 0.0

    @property
    def mach(self) -> float:
        return min(self.tip_mach, TIP_MACH_QUIET) if self.quiet else self.tip_mach


@dataclass(frozen=True, slots=True)
class Recommendation:
    """One offer, SI: `diameter` and `pitch` m rounded to half inches, speeds rev/s of the propeller.

    Figures come from the sizing chart (rpm within 2 % of `matching.performance`, which finishes the choice).
    `gives_up` compares it with the others in a plain sentence; `limited_by` names the bound that held the
    diameter ("" for none).
    """

    character: Character
    diameter: float
    pitch: float
    static_speed: float
    climb_speed: float
    top_speed: float
    static_thrust: float
    climb_thrust: float
    top_efficiency: float
    tip_mach: float
    gives_up: str
    limited_by: str


def rule_diameter(
    power: float, speed: float, top: float, blades: int = 2, constant: float = DIAMETER_CONSTANT
) -> float:
    """Diameter in m from rated power W, propeller speed rev/s and top speed m/s: Weick's charts as a power law.

    >>> round(rule_diameter(65 * 745.69987, 2300 / 60, 97 * 0.44704) / 0.0254, 1)
    72.9
    """
    hp, rpm, mph = power / _HORSEPOWER, 60 * speed, top / _MPH
    return float(constant * (hp / (rpm**2 * mph)) ** 0.25 * INCH * BLADE_DIAMETER[blades])


@dataclass(frozen=True, slots=True, eq=False)
class _Choice:
    diameter: float
    pitch: float
    limited_by: str


def recommend(
    powerplant: Powerplant,
    speeds: Speeds,
    limits: Limits | None = None,
    *,
    blades: int = 2,
    tip_form: TipForm = TipForm.ROUND,
    chord_factor: float = 1.0,
    position: Position = Position.TRACTOR,
    air: Air = SEA_LEVEL,
    diameter_constant: float = DIAMETER_CONSTANT,
) -> tuple[Recommendation, ...]:
    """Climb, standard and cruise propellers for this engine at a known top speed, standard first.

    For each, pitch follows from diameter by the full-throttle rpm in level flight. The standard diameter has the
    best of top-speed efficiency plus a quarter of static thrust, less its departure from the rule of certified
    ones, within the limits: clearance, helical tip Mach, tip speed, rpm standing and climbing at sea level not above
    what the engine may turn; the others keep it where their own limits allow. A propeller no pitch of the chart can
    match is left out. The choice moves smoothly with power, rpm and speed: between half inches nothing jumps.
    Raises ValueError when the top speed is unknown or the limits leave no diameter.
    """
    if speeds.top is None:
        raise ValueError("top_speed: needed for a recommendation")
    limits = limits or Limits()
    wake = WAKE[position]
    rule = rule_diameter(powerplant.power, powerplant.speed, speeds.top, blades, diameter_constant)
    diameters, held = _diameters(rule, limits, _tip_diameter(powerplant.speed, speeds.top, limits.mach, air))
    plan = Blade.wooden(
        diameter=float(np.clip(rule, diameters[0], diameters[-1])),
        pitch=float(0.6 * np.clip(rule, diameters[0], diameters[-1])),
        blades=blades,
        tip_form=tip_form,
        chord_factor=chord_factor,
    )
    chart = SizingChart(plan, powerplant.speed, air, wake)
    sweep = _sweep(chart, powerplant, speeds, limits, diameters, rule)
    choices: dict[Character, _Choice] = {}
    for row, character in enumerate(TOP_SPEED_RATIO):
        kept = choices[Character.STANDARD].diameter if Character.STANDARD in choices else None
        choice = _choice(sweep, row, held, kept)
        if choice is not None:
            choices[character] = choice
    return _described(chart, powerplant, speeds, choices)


@dataclass(frozen=True, slots=True, eq=False)
class _Sweep:
    """Over characters and diameters, (3, d): pitch m (NaN: none), score, and excess over each limit, (3, 4, d)."""

    diameters: Array
    pitch: Array
    score: Array
    excess: Array


def _tip_diameter(speed: float, top: float, mach: float, air: Air) -> float:
    """The diameter in m whose tips reach the helical Mach number or the tip speed flat out in level flight.

    0 when flight alone reaches the Mach number.
    """
    around = min(float(max((mach * air.sound) ** 2 - top**2, 0.0) ** 0.5), _ROUNDED * TIP_SPEED)
    return around / (np.pi * TOP_SPEED_RATIO[Character.STANDARD] * speed)


def _diameters(rule: float, limits: Limits, tips: float) -> tuple[Array, str]:
    """Diameters worth trying in m, and which bound cut them short; `tips` is the largest that the tip speed leaves.

    A diameter that is given stays, whatever we would offer.
    """
    if limits.diameter_max is not None and limits.diameter_max == limits.diameter_min:
        return np.full(25, limits.diameter_max), ""
    low, high = _REACH[0] * rule, _REACH[1] * rule
    held = ""
    if tips < high:
        high, held = tips, "tip speed"
        low = min(low, 0.75 * high)
    if limits.diameter_max is not None and limits.diameter_max < high:
        high, held = limits.diameter_max, limits.max_name
        low = min(low, 0.75 * high)
    if limits.diameter_min is not None and limits.diameter_min > low:
        low = limits.diameter_min
    low = max(low, 4.0 * limits.boss_diameter, 0.3)
    if not low <= high:
        least = limits.min_name if low == limits.diameter_min else "four times the boss"
        raise ValueError(
            f"diameter: No diameter is left: at most {high / INCH:.1f} in ({high * 1000:.0f} mm) by "
            f"{held or 'engine and speed'}, at least {low / INCH:.1f} in ({low * 1000:.0f} mm) by {least}"
        )
    return np.linspace(low, high, 25), held


def _sweep(
    chart: SizingChart, powerplant: Powerplant, speeds: Speeds, limits: Limits, diameters: Array, rule: float
) -> _Sweep:
    assert speeds.top is not None
    top = np.asarray(speeds.top)
    n = np.array([*TOP_SPEED_RATIO.values()])[:, None] * powerplant.speed
    power = powerplant.available(n, chart.air)
    pitch = chart.pitch_for(power, diameters, top, n)
    tried = np.where(np.isnan(pitch), 0.6 * diameters, pitch)
    v = np.array([0.0, speeds.best_climb() or 0.0])[:, None, None]
    standing, climbing = chart.full_throttle(powerplant, diameters, tried, v, low=True)
    mach = np.hypot(np.pi * diameters * n, top) / chart.air.sound
    efficiency = chart.thrust(diameters, tried, top, n) * top / power
    pull = chart.thrust(diameters, tried, np.asarray(0.0), standing)
    able = ~np.isnan(pitch)
    score = efficiency / _greatest(efficiency, able) + _STATIC_WEIGHT * pull / _greatest(pull, able)
    score -= _EXPERIENCE_WEIGHT * (diameters / rule - 1) ** 2
    tips = np.broadcast_to(np.pi * diameters * n / TIP_SPEED, mach.shape)
    excess = (
        np.stack([mach / limits.mach, tips, standing / powerplant.most, climbing / powerplant.most], axis=1)
        - 1
    )
    return _Sweep(diameters, pitch, score, excess)


def _greatest(values: Array, able: NDArray[np.bool_]) -> Array:
    """The greatest of each row's able values, (3, 1)."""
    return np.asarray(np.maximum(np.where(able, values, 0.0).max(axis=1, keepdims=True), 1e-9))


def _choice(sweep: _Sweep, row: int, held: str, kept: float | None) -> _Choice | None:
    """The best diameter for this character, or with `kept` the allowed one nearest to it.

    The best is the top of a parabola through the scores; a limit binds where its excess, interpolated, is nothing.
    """
    able = ~np.isnan(sweep.pitch[row])
    if not able.any():
        return None
    diameters, pitch, excess = sweep.diameters[able], sweep.pitch[row, able], sweep.excess[row][:, able]
    least = _coarsest(sweep.diameters, diameters, pitch)
    worst = excess.max(axis=0)
    if worst.min() > 0:
        best = int(np.argmin(worst))
        name = f"{_LIMITS[int(np.argmax(excess[:, best]))]} could not be kept within its limit"
        return _Choice(*_rounded(diameters[best], pitch[best], diameters[-1]), name)
    most, name = float(diameters[-1]), held if able[-1] else ""
    passed = np.flatnonzero(worst > 0)
    passed = passed[passed > int(np.argmin(worst))]
    if passed.size:
        over = int(passed[0])
        between = slice(over - 1, over + 1)
        most = float(np.interp(0.0, worst[between], diameters[between]))
        name = _LIMITS[int(np.argmax(excess[:, over]))]
    wanted = _top(diameters, sweep.score[row, able]) if kept is None else kept
    chosen = min(max(wanted, least), most)
    return _Choice(
        *_rounded(chosen, _between(chosen, diameters, pitch), most), name if chosen >= most - 1e-6 else ""
    )


_LIMITS = ("tip speed", "tip speed", "static rpm", "climb rpm")
"""What each excess is over, in their order."""


def _coarsest(all_diameters: Array, diameters: Array, pitch: Array) -> float:
    """The smallest diameter in m the chart still has a pitch for: between two tried, where pitch over diameter ends."""
    first = int(np.searchsorted(all_diameters, diameters[0]))
    if first == 0 or diameters.size < 2:
        return float(diameters[0])
    ratio = pitch[:2] / diameters[:2]
    slope = float(ratio[1] - ratio[0]) / float(diameters[1] - diameters[0])
    if slope >= 0:
        return float(diameters[0])
    return float(max(diameters[0] + (SizingChart.RATIOS[-1] - ratio[0]) / slope, all_diameters[first - 1]))


def _top(diameters: Array, score: Array) -> float:
    """Where a parabola through the scores of the larger diameters is highest, within them."""
    near = diameters >= _NEAR * diameters[-1]
    diameters, score = diameters[near], score[near]
    if diameters.size < 3 or diameters[-1] - diameters[0] < 1e-6:
        return float(diameters[int(np.argmax(score))])
    middle, half = 0.5 * (diameters[0] + diameters[-1]), 0.5 * (diameters[-1] - diameters[0])
    bend, slope, _ = np.polyfit((diameters - middle) / half, score, 2)
    return float(middle + half * np.clip(slope / (2 * max(-bend, _LEAST_BEND)), -1, 1))


def _between(diameter: float, diameters: Array, pitch: Array) -> float:
    """Pitch in m at a diameter between those tried, carried on in a straight line just below them."""
    if diameter < diameters[0] and diameters.size > 1:
        slope = (pitch[1] - pitch[0]) / (diameters[1] - diameters[0])
        return float(pitch[0] + slope * (diameter - diameters[0]))
    return float(np.interp(diameter, diameters, pitch))


def _rounded(diameter: float, pitch: float, most: float) -> tuple[float, float]:
    """To half inches, the diameter downwards where rounding up would pass the largest allowed."""
    half = 0.5 * INCH
    near = round(diameter / half) * half
    if near > most + 1e-9:
        near -= half
    return near, round(pitch / half) * half


def _described(
    chart: SizingChart, powerplant: Powerplant, speeds: Speeds, choices: dict[Character, _Choice]
) -> tuple[Recommendation, ...]:
    if not choices:
        return ()
    assert speeds.top is not None
    d = np.array([c.diameter for c in choices.values()])[:, None]
    p = np.array([c.pitch for c in choices.values()])[:, None]
    v = np.array([0.0, speeds.best_climb() or 0.0, speeds.top])
    n = chart.full_throttle(powerplant, d, p, v)
    thrust = chart.thrust(d, p, v, n)
    efficiency = thrust[:, 2] * speeds.top / chart.power(d, p, v, n)[:, 2]
    rows = {c: i for i, c in enumerate(choices)}
    middle = rows.get(Character.STANDARD, 0)
    return tuple(
        Recommendation(
            character=c,
            diameter=choices[c].diameter,
            pitch=choices[c].pitch,
            static_speed=float(n[i, 0]),
            climb_speed=float(n[i, 1]),
            top_speed=float(n[i, 2]),
            static_thrust=float(thrust[i, 0]),
            climb_thrust=float(thrust[i, 1]),
            top_efficiency=float(np.clip(efficiency[i], 0, 1)),
            tip_mach=float(np.hypot(np.pi * choices[c].diameter * n[i, 2], speeds.top) / chart.air.sound),
            gives_up=gives_up(c, float(thrust[i, 1] / thrust[middle, 1]), float(n[i, 2]), powerplant.speed),
            limited_by=choices[c].limited_by,
        )
        for c, i in rows.items()
    )


def gives_up(character: Character, climb_share: float, top_speed: float, rated_speed: float) -> str:
    """What an offer gives up, in a plain sentence.

    `climb_share` is its climbing thrust over the standard one's; speeds in rev/s of the propeller, flat out and rated.
    """
    over = 60 * (top_speed - rated_speed)
    if character is Character.STANDARD:
        return f"A compromise: turns {over:.0f} rpm over rated flat out in level flight."
    climb = 100 * (climb_share - 1)
    if character is Character.CLIMB:
        return (
            f"Pulls {abs(climb):.0f} % {'more' if climb >= 0 else 'less'} in the climb than the standard one, "
            f"but turns {over:.0f} rpm over rated flat out: the throttle must come back in level flight."
        )
    return (
        f"Gives up {abs(min(climb, 0)):.0f} % of the standard one's climb thrust and some take-off, "
        f"and stays at {60 * top_speed:.0f} rpm flat out."
    )
