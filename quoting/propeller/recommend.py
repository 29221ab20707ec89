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
_REACH = (0.88, 1.08)
_STATIC_WEIGHT = 0.25


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

    `quiet` lowers the tip Mach to 0.80 if the limit given is higher.
    """

    diameter_max: float | None = None
    diameter_min: float | None = None
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
    best of top-speed efficiency plus a quarter of static thrust within the limits: clearance, helical tip Mach,
    rpm standing and climbing not above rated; the others keep it where their own limits allow. A propeller no
    pitch of the chart can match is left out.
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
    sweep = _sweep(chart, powerplant, speeds, limits, diameters)
    choices: dict[Character, _Choice] = {}
    for row, character in enumerate(TOP_SPEED_RATIO):
        kept = choices[Character.STANDARD].diameter if Character.STANDARD in choices else None
        choice = _choice(sweep, row, held, kept)
        if choice is not None:
            choices[character] = choice
    return _described(chart, powerplant, speeds, choices)


@dataclass(frozen=True, slots=True, eq=False)
class _Sweep:
    """Over characters and diameters, (3, d): pitch m (NaN: none), score, and excess over each limit, (3, 3, d)."""

    diameters: Array
    pitch: Array
    score: Array
    excess: Array


def _tip_diameter(speed: float, top: float, mach: float, air: Air) -> float:
    """The diameter in m whose tips reach the helical Mach number flat out in level flight, 0 when flight alone does."""
    around = float(max((mach * air.sound) ** 2 - top**2, 0.0) ** 0.5)
    return around / (np.pi * TOP_SPEED_RATIO[Character.STANDARD] * speed)


def _diameters(rule: float, limits: Limits, tips: float) -> tuple[Array, str]:
    """Diameters worth trying in m, and which bound cut them short; `tips` is the largest that the tip Mach leaves."""
    low, high = _REACH[0] * rule, _REACH[1] * rule
    held = ""
    if tips < high:
        high, held = tips, "tip speed"
        low = min(low, 0.75 * high)
    if limits.diameter_max is not None and limits.diameter_max < high:
        high, held = limits.diameter_max, "clearance or the airframe's largest diameter"
        low = min(low, 0.75 * high)
    if limits.diameter_min is not None and limits.diameter_min > low:
        low = limits.diameter_min
    low = max(low, 4.0 * limits.boss_diameter, 0.3)
    if not low <= high:
        raise ValueError(f"diameter: the limits leave none between {low:.3f} and {high:.3f} m")
    return np.linspace(low, high, 25), held


def _sweep(
    chart: SizingChart, powerplant: Powerplant, speeds: Speeds, limits: Limits, diameters: Array
) -> _Sweep:
    assert speeds.top is not None
    top = np.asarray(speeds.top)
    n = np.array([*TOP_SPEED_RATIO.values()])[:, None] * powerplant.speed
    power = powerplant.available(n, chart.air)
    pitch = chart.pitch_for(power, diameters, top, n)
    tried = np.where(np.isnan(pitch), 0.6 * diameters, pitch)
    v = np.array([0.0, speeds.best_climb() or 0.0])[:, None, None]
    standing, climbing = chart.full_throttle(powerplant, diameters, tried, v)
    mach = np.hypot(np.pi * diameters * n, top) / chart.air.sound
    efficiency = chart.thrust(diameters, tried, top, n) * top / power
    pull = chart.thrust(diameters, tried, np.asarray(0.0), standing)
    score = efficiency / efficiency.max(axis=1, keepdims=True)
    score += _STATIC_WEIGHT * pull / pull.max(axis=1, keepdims=True)
    excess = (
        np.stack([mach / limits.mach, standing / powerplant.speed, climbing / powerplant.speed], axis=1) - 1
    )
    return _Sweep(diameters, pitch, score, excess)


def _choice(sweep: _Sweep, row: int, held: str, kept: float | None) -> _Choice | None:
    """The best diameter for this character, or with `kept` the allowed one nearest to it."""
    able = ~np.isnan(sweep.pitch[row])
    if not able.any():
        return None
    diameters, pitch, excess = sweep.diameters[able], sweep.pitch[row, able], sweep.excess[row][:, able]
    score = sweep.score[row, able] if kept is None else -np.abs(diameters - kept)
    worst = np.maximum(excess, 0).max(axis=0)
    fit = worst <= 0
    best = int(np.argmax(np.where(fit, score, -np.inf))) if fit.any() else int(np.argmin(worst))
    bound = _bound(best, diameters, fit, excess, held)
    return _Choice(*_rounded(diameters[best], pitch[best], diameters), bound)


def _rounded(diameter: float, pitch: float, diameters: Array) -> tuple[float, float]:
    """To half inches, the diameter downwards where rounding up would pass the largest allowed."""
    half = 0.5 * INCH
    near = round(diameter / half) * half
    if near > diameters[-1] + 1e-9:
        near -= half
    return near, round(pitch / half) * half


def _bound(best: int, diameters: Array, fit: NDArray[np.bool_], excess: Array, held: str) -> str:
    names = ("tip speed", "static rpm", "climb rpm")
    if not fit[best]:
        return f"{names[int(np.argmax(excess[:, best]))]} could not be kept within its limit"
    if best == diameters.size - 1:
        return held
    return "" if fit[best + 1] else names[int(np.argmax(excess[:, best + 1]))]


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
