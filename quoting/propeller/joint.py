"""The bolted joint: what a torque does to bolts and wood, and whether friction carries the engine.

Everything here defers to the engine's and airframe's approved data.
"""

from dataclasses import dataclass
from math import pi

from quoting.propeller.catalogue import Engine, Timber
from quoting.propeller.figure import known
from quoting.propeller.hub import Boss

NUT_FACTOR = 0.20
"""K of F = T/(K d) for dry plain steel; machine-design texts, from memory, scatter 25 to 30 %."""
NUT_FACTOR_LUBRICATED = 0.15
"""K for lubricated or cadmium-plated threads, as AN bolts have, from memory: the same torque then presses a third harder."""
FRICTION = 0.30
"""Wood on smooth dry metal, the low end of 0.3 to 0.5 (Wood Handbook chapter 5, from memory)."""

PEAK_FACTORS = {1: 8.0, 2: 6.0, 3: 5.0, 4: 4.0, 5: 3.5, 6: 3.0}
"""Firing peak over mean torque that friction must carry, by cylinders: judgement, no source."""
PEAK_FACTOR_MANY = 2.5
PEAK_FACTOR_UNKNOWN = 6.0

USUAL_TORQUES = (
    (0.0085, 13.0, 17.0),
    (0.0105, 20.0, 27.0),
    (0.0120, 25.0, 34.0),
    (0.0140, 27.0, 41.0),
)
"""Greatest bolt diameter in m, then lowest and highest torque in N m on a wooden boss: common practice, no source."""
CAUTION = (
    "These torques are worked out from the wood and are no approval: use the figures in the engine's and "
    "airframe's approved data where they exist, and have a licensed mechanic fit the propeller."
)


@dataclass(frozen=True, slots=True)
class Joint:
    """One bolted joint in SI: torques in N m, forces in N, pressures in Pa. None where a figure is missing.

    Torques are per bolt. `torque_recommended` is for dry plain threads and `torque_plated` pulls as hard with plated
    or oiled ones; the clamp figures belong to them. `torque_maximum` is the most with plated or oiled threads,
    `torque_maximum_dry` with dry ones, before the wood under a face crushes. Where the wood's limit or every face is
    unknown only `torque_recommended` is given, the least of what is usual for the bolt. `flange_known` says whether the
    engine's side was looked at, else the front plate alone was.
    `pressure_limit` is the published compression across the grain at the proportional limit, taken plain;
    `pressure_mistaken` is what `torque_recommended` presses on plated or oiled threads.
    `friction_torque` is what one face holds; `margin` is it over the mean engine torque, to be compared with
    `peak_factor`. `lug_bearing` is the pressure on the drive lugs were friction lost at the peak torque,
    `lug_share` when they carry what friction lacks of it.
    """

    nut_factor: float
    friction: float
    torque_low: float | None
    torque_recommended: float | None
    torque_plated: float | None
    torque_maximum: float | None
    torque_maximum_dry: float | None
    flange_known: bool
    bolt_force: float | None
    clamp: float | None
    pressure: float | None
    pressure_limit: float | None
    pressure_mistaken: float | None
    friction_torque: float | None
    mean_torque: float | None
    peak_factor: float
    peak_torque: float | None
    margin: float | None
    lug_bearing: float | None
    lug_share: float | None
    caution: str = CAUTION


def bolt_force(torque: float, diameter: float, nut_factor: float = NUT_FACTOR) -> float:
    """Tension in N that `torque` (N m) puts in a bolt of `diameter` (m): F = T/(K d).

    >>> round(bolt_force(27.1, 0.375 * 0.0254))
    14226
    """
    return torque / (nut_factor * diameter)


def propeller_torque(engine: Engine) -> float | None:
    """Mean torque at the propeller in N m at rated power: P/(2 pi n) times the gear ratio; None if not known."""
    power, speed = known(engine.rated_power), known(engine.rated_speed)
    ratio = 1.0 if engine.gear_ratio is None else known(engine.gear_ratio)
    if power is None or speed is None or ratio is None or speed <= 0:
        return None
    return power / (2 * pi * speed) * ratio


def peak_factor(cylinders: int | None) -> float:
    """Firing peak over mean torque that the joint is asked to carry; judgement, no source."""
    if cylinders is None:
        return PEAK_FACTOR_UNKNOWN
    return PEAK_FACTORS.get(cylinders, PEAK_FACTOR_MANY)


def usual_torque(diameter: float) -> tuple[float, float]:
    """Lowest and highest torque in N m used on a wooden boss with bolts of `diameter` (m): common practice."""
    for greatest, low, high in USUAL_TORQUES:
        if diameter <= greatest:
            return low, high
    return USUAL_TORQUES[-1][1:]


@dataclass(frozen=True, slots=True)
class _Torques:
    low: float | None = None
    recommended: float | None = None
    plated: float | None = None
    maximum: float | None = None
    maximum_dry: float | None = None


def joint(boss: Boss, timber: Timber, engine: Engine | None, torque: float | None = None) -> Joint:
    """The joint at the recommended bolt torque, or at `torque` (N m) on dry threads where given.

    Recommended is the middle of the usual range, but never more than nine tenths of what crushes the wood at the
    smaller of the faces whose size is known.
    """
    limit = known(timber.compression_perpendicular)
    pressed = _pressed_area(boss)
    torques = _torques(boss, limit, pressed)
    chosen = torques.recommended if torque is None else torque
    force = None if chosen is None or boss.bolt is None else bolt_force(chosen, boss.bolt)
    clamp = None if force is None or not boss.bolts else force * boss.bolts
    pressure = None if clamp is None or pressed is None else clamp / pressed
    radius = boss.friction_radius
    held = None if clamp is None or radius is None else FRICTION * clamp * radius
    mean = None if engine is None else propeller_torque(engine)
    factor = peak_factor(None if engine is None else engine.cylinders)
    peak = None if mean is None else mean * factor
    return Joint(
        nut_factor=NUT_FACTOR,
        friction=FRICTION,
        torque_low=torques.low,
        torque_recommended=torques.recommended,
        torque_plated=torques.plated,
        torque_maximum=torques.maximum,
        torque_maximum_dry=torques.maximum_dry,
        flange_known=boss.flange_area is not None,
        bolt_force=force,
        clamp=clamp,
        pressure=pressure,
        pressure_limit=limit,
        pressure_mistaken=None if pressure is None else pressure * NUT_FACTOR / NUT_FACTOR_LUBRICATED,
        friction_torque=held,
        mean_torque=mean,
        peak_factor=factor,
        peak_torque=peak,
        margin=None if held is None or not mean else held / mean,
        lug_bearing=_lug_bearing(boss, peak),
        lug_share=None if held is None or peak is None else _lug_bearing(boss, max(peak - held, 0.0)),
    )


def _pressed_area(boss: Boss) -> float | None:
    """The smaller of the pressed faces in m2, of the plate alone where the flange is not known."""
    areas = [area for area in (boss.flange_area, boss.plate_area) if area is not None]
    return min(areas, default=None)


def _torques(boss: Boss, limit: float | None, pressed: float | None) -> _Torques:
    if boss.bolt is None or not boss.bolts:
        return _Torques()
    low, high = usual_torque(boss.bolt)
    if limit is None or pressed is None:
        return _Torques(low, low)
    plated = NUT_FACTOR_LUBRICATED / NUT_FACTOR
    crushing = NUT_FACTOR * boss.bolt * limit * pressed / boss.bolts
    recommended = min(0.5 * (low + high), 0.9 * crushing)
    return _Torques(low, recommended, plated * recommended, min(high, plated * crushing), min(high, crushing))


def _lug_bearing(boss: Boss, torque: float | None) -> float | None:
    if torque is None or not boss.bolts or boss.circle is None or not boss.lug or not boss.lug_depth:
        return None
    return torque / (boss.bolts * 0.5 * boss.circle * boss.lug * boss.lug_depth)
