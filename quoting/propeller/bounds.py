"""The diameters that airframe, ground, structure, gearbox and boss leave to a recommendation, each with its name."""

from dataclasses import replace

import numpy as np

from quoting.propeller.blade import Blade
from quoting.propeller.catalogue import Gear, Position
from quoting.propeller.checks.evidence import binds_metal, is_doubtful
from quoting.propeller.clearance import clearance_diameter, free_diameter
from quoting.propeller.figure import known
from quoting.propeller.hub import Boss, boss
from quoting.propeller.recommend import Limits
from quoting.propeller.specification import Specification, Wish
from quoting.propeller.timber import density

WITH_SIZE = (Wish.KNOWN, Wish.COPY)
_SECTION_AREA = 0.694
"""Area of a Clark-Y section over chord times thickness."""
_ROOT = 0.12
_ADDED = 1.07
"""Inertia with root fillets and finish over that of the bare sections; compared with whole lofts."""
_STEPS = 6
INERTIA_WITHIN = 0.9
"""Share of the maker's limit within which the computed inertia, known to a tenth, keeps it."""


def bounds(specification: Specification) -> Limits:
    """What bounds a recommendation; a diameter given is kept. A metal propeller's limits bind no wooden one."""
    shape, frame = boss(specification), specification.airframe
    quiet = specification.quiet
    if specification.diameter is not None and specification.wish not in WITH_SIZE:
        given = specification.diameter
        return Limits(given, given, quiet=quiet, boss_diameter=shape.diameter)
    largest = {name: bound for name, bound in _largest(specification, shape).items() if bound is not None}
    name = min(largest, key=lambda each: largest[each], default="")
    smallest = frame.diameter_min if frame is not None and not binds_metal(frame.diameter_min) else None
    return Limits(
        largest.get(name),
        known(smallest),
        max_name=name,
        min_name="the smallest diameter in the airframe's data",
        quiet=quiet,
        boss_diameter=shape.diameter,
    )


def usual_bounds(specification: Specification, limits: Limits) -> Limits:
    """The same with what is usual on the airframe, from memory however sure, as the largest where it is less."""
    frame = specification.airframe
    high = None if frame is None else frame.usual_diameter_high
    if high is None or (specification.diameter is not None and specification.wish not in WITH_SIZE):
        return limits
    if limits.diameter_max is not None and limits.diameter_max <= high.value:
        return limits
    unsure = " (unsure)" if is_doubtful(high) else ""
    return replace(limits, diameter_max=high.value, max_name=f"what is usual on this airframe{unsure}")


def _largest(specification: Specification, shape: Boss) -> dict[str, float | None]:
    frame, engine = specification.airframe, specification.engine
    height = specification.hub_height or (known(frame.hub_height) if frame else None)
    gear = (frame.gear if frame else None) or Gear.TAIL_WHEEL
    level = " with the aeroplane level" if specification.position is Position.PUSHER else ""
    most = frame.diameter_max if frame is not None and not binds_metal(frame.diameter_max) else None
    inertia = None if engine is None else known(engine.inertia_limit)
    free = specification.free_radius
    return {
        "the largest diameter in the airframe's data": known(most),
        f"ground clearance{level}": None if height is None else clearance_diameter(height, gear),
        "clearance to the structure": None if free is None else free_diameter(free),
        "the gearbox maker's limit of inertia": None
        if inertia is None
        else inertia_diameter(specification, shape, INERTIA_WITHIN * inertia),
    }


def inertia_diameter(specification: Specification, shape: Boss, limit: float) -> float:
    """The diameter in m whose propeller in this timber comes to the moment of inertia `limit` in kg m2.

    Sections alone, which grow with the fifth power of the diameter, the boss as a cylinder and the guard's edge.
    """
    rho = density(specification.timber, specification.moisture)
    trial = 1.8
    blade = Blade.wooden(diameter=trial, pitch=0.6 * trial, chord_factor=specification.chord_factor)
    x = np.linspace(_ROOT, 1.0, 60)
    area = _SECTION_AREA * blade.chord_m(x) * blade.thickness_m(x)
    r = blade.radius * x
    blades = specification.blades * rho * float(np.trapezoid(area * r**2, r)) / trial**5
    hub = rho * np.pi / 32 * shape.diameter**4 * shape.thickness
    guard = 0.0
    if specification.guard is not None:
        length = specification.guard.length_fraction.value
        mass = specification.guard.mass_per_length.value * 0.5 * length
        guard = specification.blades * mass * (0.5 * (1 - 0.5 * length)) ** 2
    diameter = trial
    for _ in range(_STEPS):
        left = limit / _ADDED - hub - guard * diameter**3
        diameter = max(left / blades, 1e-3) ** 0.2
    return diameter
