"""How large a propeller the ground and the structure leave room for."""

from quoting.propeller.catalogue import Gear

INCH = 0.0254

GROUND_CLEARANCE = {Gear.NOSE_WHEEL: 7 * INCH, Gear.TAIL_WHEEL: 9 * INCH, Gear.FLOATS: 18 * INCH}
"""14 CFR 23.925 as it stood before 2017; 25.925 keeps the same numbers."""


def clearance_diameter(hub_height: float, gear: Gear) -> float:
    """Largest diameter in m that leaves the customary ground clearance: D = 2 (h - clearance).

    >>> [round(clearance_diameter(46 * INCH, gear) / INCH) for gear in (Gear.TAIL_WHEEL, Gear.NOSE_WHEEL)]
    [74, 78]
    """
    return 2 * (hub_height - GROUND_CLEARANCE[gear])


STRUCTURE_CLEARANCE = 1 * INCH
"""14 CFR 23.925(d) as it stood before 2017, plus what vibration needs."""


def free_diameter(free_radius: float) -> float:
    """Largest diameter in m that keeps an inch from the structure at `free_radius` (m) round the shaft."""
    return 2 * (free_radius - STRUCTURE_CLEARANCE)
