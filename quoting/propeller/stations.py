"""The table of stations: where the carver measures, and what should be found there."""

from dataclasses import dataclass
from math import degrees

import numpy as np
from numpy.typing import NDArray

from quoting.propeller.blade import Blade
from quoting.propeller.loft import carved, twisted_sections

Array = NDArray[np.float64]

INCH = 0.0254
STEPS = {
    "in": [k * INCH for k in (0.5, 1, 2, 3, 4, 6, 8, 12)],
    "mm": [0.01, 0.02, 0.025, 0.05, 0.075, 0.1, 0.15, 0.2],
}
"""Round distances between stations in m, in the shop's unit."""
OUTERMOST = 0.975
MOST = 9


@dataclass(frozen=True, eq=False)
class Station:
    """One station; lengths in m, angle in degrees to the flat face.

    `chord` and `thickness` are the section's own; `ahead` and `behind` reach from the blade's centre line in
    plan (ahead is the way the blade moves), `front` and `back` from the hub's middle plane, all of the carved
    outline `outline` (65, 2) of (s, z). `in_root` marks a station inside the root's blend into the boss, where
    the carved outline is fuller than the section.
    """

    r: float
    chord: float
    thickness: float
    angle: float
    ahead: float
    behind: float
    front: float
    back: float
    in_root: bool
    outline: Array


def station_radii(blade: Blade, boss_diameter: float, units: str) -> list[float]:
    """Round radii in m from just outside the boss to just inside the tip, at most nine.

    Raises ValueError for a unit other than in and mm.
    """
    if units not in STEPS:
        raise ValueError(f"units: {units!r} given, accepted are in and mm")
    first, last = 0.55 * boss_diameter, OUTERMOST * blade.radius
    for step in STEPS[units]:
        radii = [k * step for k in range(1, int(last / step) + 1) if k * step >= first]
        if len(radii) <= MOST:
            return radii
    return radii[:: len(radii) // MOST + 1]


def station_table(
    blade: Blade, boss_diameter: float, boss_thickness: float, units: str = "in"
) -> tuple[Station, ...]:
    """The stations of a blade carved into a boss; lengths in m."""
    radii = np.array(station_radii(blade, boss_diameter, units))
    x = radii / blade.radius
    outlines = carved(blade, boss_diameter, boss_thickness, radii)
    chord, thickness = blade.chord_m(x), blade.thickness_m(x)
    angle = blade.angle_rad(x)
    plain = twisted_sections(blade, x)
    return tuple(
        Station(
            r=float(radii[k]),
            chord=float(chord[k]),
            thickness=float(thickness[k]),
            angle=degrees(float(angle[k])),
            ahead=float(outlines[k, :, 0].max()),
            behind=float(-outlines[k, :, 0].min()),
            front=float(outlines[k, :, 1].max()),
            back=float(-outlines[k, :, 1].min()),
            in_root=bool(np.abs(outlines[k] - plain[k]).max() > 1e-4),
            outline=outlines[k],
        )
        for k in range(radii.size)
    )
