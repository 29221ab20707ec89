"""The one entry: a specification in, its geometry, figures and findings out. Fast enough for a live answer."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import numpy as np

from quoting.propeller.aerodynamics import OperatingPoints
from quoting.propeller.atmosphere import SEA_LEVEL, Air
from quoting.propeller.balance import Permissible, permissible
from quoting.propeller.blade import Blade
from quoting.propeller.bounds import WITH_SIZE, bounds, usual_bounds
from quoting.propeller.checks.everything import check
from quoting.propeller.checks.evidence import Evidence
from quoting.propeller.checks.validity import SOURCE, validate
from quoting.propeller.figure import known
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.hub import Boss, boss, deep_enough, has_thickness
from quoting.propeller.joint import Joint, joint
from quoting.propeller.lamination import Lamination, lamination
from quoting.propeller.loft import Loft, loft
from quoting.propeller.mass import Mass, mass
from quoting.propeller.matching import Performance, Powerplant, Speeds, Unmatched, performance
from quoting.propeller.measures import Measures
from quoting.propeller.measuring import guard_length, measures
from quoting.propeller.recommend import Character, Limits, Recommendation, recommend, rule_diameter
from quoting.propeller.specification import Specification
from quoting.propeller.strength import Loads, Strength, strength
from quoting.propeller.timber import Season, density, seasons
from quoting.propeller.version import MODEL_VERSION
from quoting.propeller.width import WIDENINGS, better_width, expected_chord, may_widen

BANDS: Mapping[str, float] = MappingProxyType(
    {"mass": 0.08, "inertia": 0.10, "stress": 0.20, "power": 0.07, "static rpm": 0.03, "volume": 0.03}
)
"""Half width of the band to print with a figure, as a fraction of it: judgement from comparisons with tests."""
_STRESSED_MACH = 1.1
"""Helical tip Mach number up to which the dive is stressed."""
OVERSPEED = 1.10
"""Propeller speed over rated at which the blade is also stressed; 14 CFR 23.33(b) as it stood before 2017."""


@dataclass(frozen=True, eq=False)
class Assessment:
    """Everything known of one specification. When a stop stands in the way of the geometry, all parts are None.

    `specification` has diameter, pitch, boss_diameter and boss_thickness filled in where they could be.
    `performance` is that at the usual height of flight, `strength` that at sea level.
    `performance` is None when the engine's rating is unknown, `strength` when there is no speed to stress it at;
    `balance` is the unbalance that may stay, at the usual grade and the propeller's rated speed.
    """

    specification: Specification
    findings: tuple[Finding, ...]
    blade: Blade | None = None
    surface: Loft | None = None
    boss: Boss | None = None
    measures: Measures | None = None
    performance: Performance | None = None
    recommendations: tuple[Recommendation, ...] = ()
    strength: Strength | None = None
    joint: Joint | None = None
    mass: Mass | None = None
    balance: Permissible | None = None
    lamination: Lamination | None = None
    seasons: tuple[Season, ...] = ()
    bands: Mapping[str, float] = field(default_factory=lambda: BANDS)
    model_version: str = MODEL_VERSION

    @property
    def can_be_made(self) -> bool:
        """Whether there is geometry at all."""
        return self.blade is not None


def assess(specification: Specification) -> Assessment:
    """Size, shape, weigh, stress and check one specification. Never raises for what a customer can type.

    Where the blade's width is left to us it is as much over the usual as its strength asks for.
    """
    stops = validate(specification)
    if stops:
        return Assessment(specification, stops)
    try:
        powerplant, speeds = _powerplant(specification), _speeds(specification)
        width = _first_width(specification, powerplant, speeds)
        done = _tried(replace(specification, chord_factor=width), powerplant, speeds)
        for _ in range(WIDENINGS):
            better = better_width(done.strength, width) if may_widen(specification) else None
            if better is None:
                break
            width = better
            again = _tried(replace(specification, chord_factor=width), powerplant, speeds)
            if again.performance is None:
                break
            done = again
        return done
    except ValueError as refused:
        return Assessment(specification, (_refusal(str(refused)),))


def _first_width(specification: Specification, powerplant: Powerplant | None, speeds: Speeds) -> float:
    if powerplant is None or not may_widen(specification):
        return specification.chord_factor or 1.0
    diameter = specification.diameter
    if diameter is None and speeds.top is not None:
        rule = rule_diameter(powerplant.power, powerplant.speed, speeds.top, specification.blades)
        diameter = min(rule, usual_bounds(specification, bounds(specification)).diameter_max or rule)
    if diameter is None:
        return 1.0
    return expected_chord(
        powerplant,
        speeds.top,
        diameter,
        specification.pitch,
        specification.blades,
        specification.timber,
    )


def _tried(specification: Specification, powerplant: Powerplant | None, speeds: Speeds) -> Assessment:
    """The specification with its blade's width settled, sized and assessed. Raises ValueError at a field."""
    offers = _offers(specification, powerplant, speeds)
    resolved = _sized(specification, powerplant, speeds, offers)
    stops = validate(resolved)
    if stops:
        return Assessment(resolved, stops, recommendations=offers)
    blade = _blade(resolved)
    if not has_thickness(specification):
        assert resolved.boss_diameter is not None
        resolved = replace(resolved, boss_thickness=deep_enough(blade, resolved.boss_diameter))
    return _assessed(resolved, blade, powerplant, speeds, offers)


_SOLVER_WORDS = {
    "tip speed": (
        "diameter",
        "The tips would pass the speed of sound: a smaller diameter or a slower engine is needed",
    ),
    "speed": ("engine", "The engine's rpm is outside what can be computed"),
    "airspeed": ("top_speed", "The top speed is outside what can be computed"),
}
"""What the solver calls its arguments: the field of the specification behind it, and a sentence for customers."""


def _refusal(text: str) -> Finding:
    """A ValueError of the geometry, which names its argument before a colon, as a stop at that field."""
    name, _, message = text.partition(": ")
    known = name in Specification.__dataclass_fields__
    at, said = _SOLVER_WORDS.get(name, (name if known else "", message if known else text))
    sentence = said[:1].upper() + said[1:].rstrip(".") + "."
    code = "tip-mach" if name == "tip speed" else "not-computable"
    return Finding(code, Severity.STOP, at, None, None, "", sentence, SOURCE)


def _powerplant(specification: Specification) -> Powerplant | None:
    engine = specification.engine
    if engine is None or known(engine.rated_power) is None or known(engine.rated_speed) is None:
        return None
    if engine.gear_ratio is not None and known(engine.gear_ratio) is None:
        return None
    return Powerplant.from_engine(engine)


def _speeds(specification: Specification) -> Speeds:
    return Speeds.of(specification.airframe, top=specification.top_speed, cruise=specification.cruise_speed)


def _offers(
    specification: Specification, powerplant: Powerplant | None, speeds: Speeds
) -> tuple[Recommendation, ...]:
    """What we would recommend, also beside a size the customer knows; empty where it cannot be worked out.

    What is usual on the airframe bounds it where engine and speed leave a size within.
    """
    if powerplant is None or speeds.top is None:
        return ()
    limits = bounds(specification)
    usual = usual_bounds(specification, limits)
    if usual is not limits:
        try:
            offers = _recommended(specification, powerplant, speeds, usual)
        except ValueError:
            offers = ()
        if any(offer.character is Character.STANDARD for offer in offers):
            return offers
    try:
        return _recommended(specification, powerplant, speeds, limits)
    except ValueError:
        if specification.wish in WITH_SIZE:
            return ()
        raise


def _recommended(
    specification: Specification, powerplant: Powerplant, speeds: Speeds, limits: Limits
) -> tuple[Recommendation, ...]:
    return recommend(
        powerplant,
        speeds,
        limits,
        blades=specification.blades,
        tip_form=specification.tip_form,
        chord_factor=specification.chord_factor or 1.0,
        position=specification.position,
        air=Air.at(specification.altitude),
    )


def _sized(
    specification: Specification,
    powerplant: Powerplant | None,
    speeds: Speeds,
    offers: tuple[Recommendation, ...],
) -> Specification:
    """Diameter, pitch and boss filled in; raises ValueError at the field that is needed for it."""
    diameter, pitch = specification.diameter, specification.pitch
    if diameter is None or pitch is None:
        offer = _standard(powerplant, speeds, offers)
        diameter, pitch = diameter or offer.diameter, pitch or offer.pitch
    shape = boss(specification)
    return replace(
        specification,
        diameter=diameter,
        pitch=pitch,
        boss_diameter=shape.diameter,
        boss_thickness=shape.thickness,
    )


def _standard(
    powerplant: Powerplant | None, speeds: Speeds, offers: tuple[Recommendation, ...]
) -> Recommendation:
    if powerplant is None:
        raise ValueError(
            "engine: The engine's power and rpm are needed to recommend a size; else give diameter and pitch."
        )
    if speeds.top is None:
        raise ValueError(
            "top_speed: The top speed is needed to recommend a size; else give diameter and pitch."
        )
    if not offers:
        raise ValueError("top_speed: No propeller suits this engine at this top speed: check both.")
    return next((offer for offer in offers if offer.character is Character.STANDARD), offers[0])


def _blade(specification: Specification) -> Blade:
    assert specification.diameter is not None and specification.pitch is not None
    return Blade.wooden(
        diameter=specification.diameter,
        pitch=specification.pitch,
        blades=specification.blades,
        hand=specification.hand,
        tip_form=specification.tip_form,
        chord_factor=specification.chord_factor,
        pitch_station=specification.pitch_station,
    )


def _assessed(
    specification: Specification,
    blade: Blade,
    powerplant: Powerplant | None,
    speeds: Speeds,
    offers: tuple[Recommendation, ...],
) -> Assessment:
    shape = boss(specification)
    surface = loft(blade, shape.diameter, shape.thickness)
    rho = density(specification.timber, specification.moisture)
    weighed = _weighed(specification, blade, surface, shape, rho)
    blank = lamination(
        surface,
        shape,
        blade.blades,
        blade.diameter,
        specification.lamination_thickness,
        stepped=specification.stepped_laminations,
    )
    height = Air.at(specification.altitude)
    high, unmatched = _flown(specification, blade, powerplant, speeds, height)
    flown = high
    if height.density < SEA_LEVEL.density:
        flown, unmatched_low = _flown(specification, blade, powerplant, speeds, SEA_LEVEL)
        unmatched = unmatched_low or unmatched
    evidence = Evidence(
        specification=specification,
        boss=shape,
        lamination=blank,
        mass=weighed,
        blade_depth=surface.deepest,
        joint=joint(shape, specification.timber, specification.engine),
        seasons=_seasons(specification, shape),
        rated_speed=None if powerplant is None else powerplant.speed,
        performance=flown,
        strength=_stressed(specification, surface, rho, powerplant, flown),
        unmatched=unmatched,
        high=None if high is flown else high,
    )
    return Assessment(
        specification=specification,
        findings=check(evidence),
        blade=blade,
        surface=surface,
        boss=shape,
        measures=measures(specification, blade, surface, shape, blank, weighed),
        performance=high,
        recommendations=offers,
        strength=evidence.strength,
        joint=evidence.joint,
        mass=weighed,
        balance=_balanced(specification, weighed, powerplant),
        lamination=blank,
        seasons=evidence.seasons,
    )


def _weighed(specification: Specification, blade: Blade, surface: Loft, shape: Boss, rho: float) -> Mass:
    guard = specification.guard
    fraction = 0.0 if guard is None else guard.length_fraction.value
    return mass(
        surface,
        shape,
        blade.blades,
        rho,
        coats=specification.finish.coats,
        spread=specification.finish.spread.value,
        guard_length=guard_length(specification, blade),
        guard_mass_per_length=0.0 if guard is None else guard.mass_per_length.value,
        guard_radius=blade.radius * (1 - 0.5 * fraction),
    )


def _balanced(
    specification: Specification, weighed: Mass, powerplant: Powerplant | None
) -> Permissible | None:
    if powerplant is None or specification.engine is None:
        return None
    limit = known(specification.engine.unbalance_limit)
    return permissible(weighed.total, powerplant.speed, engine_limit=limit)


def _seasons(specification: Specification, shape: Boss) -> tuple[Season, ...]:
    return seasons(
        specification.timber,
        shape.thickness,
        shape.circle,
        specification.moisture,
        specification.climate_temperature,
        specification.climate_humidity,
    )


def _flown(
    specification: Specification, blade: Blade, powerplant: Powerplant | None, speeds: Speeds, air: Air
) -> tuple[Performance | None, Unmatched | None]:
    """What it does in `air`, or why it does not run on this engine; the geometry stands either way."""
    if powerplant is None:
        return None, None
    try:
        return performance(blade, powerplant, speeds, air=air, position=specification.position), None
    except Unmatched as unmatched:
        return None, unmatched
    except ValueError as refused:
        told = _refusal(str(refused))
        return None, Unmatched(told.code, told.field, told.message.rstrip("."), None, None, "")


def _stressed(
    specification: Specification,
    surface: Loft,
    rho: float,
    powerplant: Powerplant | None,
    flown: Performance | None,
) -> Strength | None:
    """Stress standing at full throttle, and at a tenth over rated speed in a full-throttle dive.

    The dive is at the airspeed where full throttle reaches that speed, or a quarter over top speed if it never does;
    tips that would then run faster than the method reaches are taken at the fastest it does.
    """
    if powerplant is None or flown is None:
        return None
    fast, dive = max(OVERSPEED * powerplant.speed, flown.static.speed), "110 % of rated rpm in a dive"
    # a stalled blade may turn faster standing than rolling: take each speed where it is last reached
    turned = np.maximum.accumulate(flown.curves.speed)
    diving = float(np.interp(fast, turned, flown.curves.airspeed))
    reached = float(
        np.sqrt((_STRESSED_MACH * flown.air.sound) ** 2 - diving**2) / (np.pi * surface.r[-1] * 2)
    )
    if reached < fast:
        fast, dive = max(reached, flown.static.speed), f"tips at Mach {_STRESSED_MACH:g} in a dive"
    points = {"full throttle, standing": (0.0, flown.static.speed), dive: (diving, fast)}
    airspeed, speed = zip(*points.values(), strict=True)
    air = flown.solver.at(OperatingPoints.at(airspeed, speed, flown.air), wake=flown.wake)
    loads = [
        Loads(name, n, air.radius, air.thrust_per_m[i], air.torque_per_m[i] / air.radius)
        for i, (name, n) in enumerate(zip(points, speed, strict=True))
    ]
    return strength(surface, specification.timber, rho, tuple(loads))
