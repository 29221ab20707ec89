"""From geometry to the one row of numbers that price and minutes read."""

import numpy as np

from quoting.propeller.blade import Blade
from quoting.propeller.hub import Boss
from quoting.propeller.lamination import Lamination
from quoting.propeller.loft import Loft
from quoting.propeller.mass import Mass
from quoting.propeller.measures import Measures
from quoting.propeller.specification import Specification

CRATE_ALLOWANCE = 0.10
"""Length and breadth of a crate beyond the propeller in m: boards, blocks and padding; common practice, no source."""
CRATE_HEIGHT_ALLOWANCE = 0.08
_SPAN = {2: (1.0, 0.0), 3: (0.75, 0.866), 4: (0.7071, 0.7071)}
"""Length and breadth of the propeller laid flat as fractions of its diameter, turned to fit; 2 blades have no breadth."""


def guard_length(specification: Specification, blade: Blade) -> float:
    """Length of one blade's leading-edge guard in m along the edge, from the tip inward; 0 without one."""
    guard = specification.guard
    if guard is None:
        return 0.0
    x = np.linspace(max(1 - guard.length_fraction.value, 0.2), 1.0, 60)
    leading, _ = blade.edges_m(x)
    return float(np.hypot(np.diff(x) * blade.radius, np.diff(leading)).sum())


def measures(
    specification: Specification,
    blade: Blade,
    surface: Loft,
    boss: Boss,
    blank: Lamination,
    weighed: Mass,
) -> Measures:
    """All numbers of one propeller, from the geometry that draws and carves it."""
    length, breadth = _SPAN[blade.blades]
    lengthwise = max(length * blade.diameter, boss.diameter)
    crosswise = max(breadth * blade.diameter, boss.diameter, 2 * float(np.abs(surface.points[..., 0]).max()))
    deep = max(float(surface.front.max() - surface.back.min()), boss.thickness)
    root_chord = float(blade.chord_m(np.linspace(0.15, 0.35, 9)).max())
    return Measures(
        diameter=blade.diameter,
        pitch=float(blade.pitch_m(blade.pitch_station)),
        blades=blade.blades,
        boss_diameter=boss.diameter,
        boss_thickness=boss.thickness,
        boss_width_ratio=boss.diameter / root_chord,
        blade_surface=weighed.blade_surface,
        finished_volume=weighed.wood_volume,
        blank_volume=blank.volume,
        wood_removed=blank.volume - weighed.wood_volume,
        laminations=blank.layers,
        board_feet=blank.board_feet,
        glue_area=blank.glue_area,
        guard_length=blade.blades * guard_length(specification, blade),
        bolt_holes=boss.bolts or 0,
        bolt_circle=boss.circle or 0.0,
        lug_counterbores=(boss.bolts or 0) if boss.lug else 0,
        mass=weighed.total,
        crate_length=lengthwise + CRATE_ALLOWANCE,
        crate_width=crosswise + CRATE_ALLOWANCE,
        crate_height=deep + CRATE_HEIGHT_ALLOWANCE,
    )
