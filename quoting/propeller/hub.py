"""The boss as geometry: bolt circle, bore, lug counterbores, plate, spacer, spinner, and the wood left between them."""

from dataclasses import dataclass
from math import ceil, pi, sin

import numpy as np
from numpy.typing import NDArray

from quoting.propeller.blade import Blade
from quoting.propeller.figure import known
from quoting.propeller.loft import loft
from quoting.propeller.specification import Specification

Array = NDArray[np.float64]

USUAL_BOSS_MARGIN = 0.035
"""Boss diameter over the bolt circle in m when neither pattern nor customer gives one; common practice, no source."""
USUAL_BOSS_THICKNESS = 0.090
THICKEST_BOSS = 0.260
"""In m, the thickest boss that is computed."""
NUT_AND_THREAD = 1.6
"""Bolt length needed beyond the stack, in bolt diameters: nut, washer and two threads; common practice, no source."""


@dataclass(frozen=True, eq=False)
class Boss:
    """The boss of one propeller; lengths in m, angles in degrees. None where the hub pattern gives no figure.

    `holes` holds the hole centres (n, 2) seen from the front in (across, along) with the first blade's centre
    line along +y; empty for an incomplete pattern. `bore` is cut `bore_depth` deep from the flange side
    (through when it equals `thickness`). Lug counterbores are on the flange side. `plate` is the smaller of front
    plate and boss, `flange` that of the engine's flange and boss.
    """

    diameter: float
    thickness: float
    bolts: int | None
    circle: float | None
    hole: float | None
    bolt: float | None
    bore: float | None
    bore_depth: float
    lug: float | None
    lug_depth: float
    plate: float
    flange: float | None
    face_plate_thickness: float
    spacer_thickness: float
    spinner_diameter: float
    clocking: float
    holes: Array

    @property
    def edge_wood(self) -> float | None:
        """Wood between the rim of the boss and the widest cut at a bolt hole."""
        if self.circle is None or self.widest_cut is None:
            return None
        return 0.5 * (self.diameter - self.circle - self.widest_cut)

    @property
    def edge_wood_at_hole(self) -> float | None:
        """Wood between the rim of the boss and the bolt hole itself, past the counterbore."""
        if self.circle is None or self.hole is None:
            return None
        return 0.5 * (self.diameter - self.circle - self.hole)

    @property
    def bore_web(self) -> float | None:
        """Wood between the bore and the widest cut at a bolt hole."""
        if self.circle is None or self.bore is None or self.widest_cut is None:
            return None
        return 0.5 * (self.circle - self.bore - self.widest_cut)

    @property
    def hole_web(self) -> float | None:
        """Wood between neighbouring cuts on the bolt circle."""
        if self.circle is None or self.bolts is None or self.widest_cut is None:
            return None
        if self.bolts < 2:
            return None
        return self.circle * sin(pi / self.bolts) - self.widest_cut

    @property
    def widest_cut(self) -> float | None:
        """The larger of bolt hole and lug counterbore."""
        if self.hole is None:
            return None
        return max(self.hole, self.lug or 0.0)

    @property
    def wood_behind_lug(self) -> float:
        """Wood the bolt still clamps past the lug counterbore."""
        return self.thickness - self.lug_depth

    @property
    def flange_area(self) -> float | None:
        """Wood pressed by the engine's flange in m2: flange less bore and widest cuts."""
        return None if self.flange is None else self._area(self.flange, self.widest_cut)

    @property
    def plate_area(self) -> float | None:
        """Wood pressed by the front plate in m2: plate less bore and bolt holes."""
        return self._area(self.plate, self.hole)

    def _area(self, outer: float, cut: float | None) -> float | None:
        if self.bore is None or self.bolts is None or cut is None:
            return None
        area = 0.25 * pi * (outer**2 - self.bore**2 - self.bolts * cut**2)
        return area if area > 0 else None

    @property
    def friction_radius(self) -> float | None:
        """Mean radius at which an evenly pressed ring holds torque: 2/3 (Ro^3 - Ri^3)/(Ro^2 - Ri^2), in m.

        The ring is the flange's, or the front plate's where that is smaller or the flange is not known.
        """
        ring = self.plate if self.flange is None else min(self.plate, self.flange)
        if self.bore is None or self.bore >= ring:
            return None
        outer, inner = 0.5 * ring, 0.5 * self.bore
        return 2 / 3 * (outer**3 - inner**3) / (outer**2 - inner**2)

    @property
    def bolt_length_needed(self) -> float | None:
        """Shank under the head in m: plate, boss, spacer, and thread for nut and washer."""
        if self.bolt is None:
            return None
        stack = self.face_plate_thickness + self.thickness + self.spacer_thickness
        return stack + NUT_AND_THREAD * self.bolt

    @property
    def removed_volume(self) -> float:
        """Wood cut out by bore, bolt holes and lug counterbores, m3; what is unknown counts as uncut."""
        bore = 0.25 * pi * (self.bore or 0.0) ** 2 * self.bore_depth
        if self.bolts is None or self.hole is None or self.circle is None:
            return bore
        hole = 0.25 * pi * self.hole**2
        lug = 0.25 * pi * (self.widest_cut or 0.0) ** 2
        return bore + self.bolts * (hole * self.wood_behind_lug + lug * self.lug_depth)

    @property
    def nearest_hole_angle(self) -> float | None:
        """Angle in degrees between a blade's centre line and the nearest bolt hole."""
        if not self.bolts:
            return None
        step = 360 / self.bolts
        offset = self.clocking % step
        return min(offset, step - offset)


def boss(specification: Specification) -> Boss:
    """The boss that goes with the specification's hub pattern; the customer's own sizes go first.

    Figures of the pattern that are marked unsure are left out as if they were missing.
    """
    pattern, hardware = specification.hub, specification.hardware
    circle, hole = known(pattern.circle), known(pattern.hole)
    diameter = specification.boss_diameter or known(pattern.boss_diameter)
    if diameter is None:
        diameter = (circle or 0.1) + USUAL_BOSS_MARGIN + (hole or 0.0)
    thickness = specification.boss_thickness or known(pattern.boss_thickness) or USUAL_BOSS_THICKNESS
    flange = known(pattern.flange_diameter)
    lug_depth = (known(pattern.lug_depth) or 0.0) if pattern.lug_diameter is not None else 0.0
    return Boss(
        diameter=diameter,
        thickness=thickness,
        bolts=pattern.bolts,
        circle=circle,
        hole=hole,
        bolt=known(pattern.bolt),
        bore=known(pattern.pilot),
        bore_depth=min(known(pattern.pilot_depth) or thickness, thickness),
        lug=known(pattern.lug_diameter),
        lug_depth=min(lug_depth, thickness),
        plate=min(known(pattern.plate_diameter) or diameter, diameter),
        flange=None if flange is None else min(flange, diameter),
        face_plate_thickness=hardware.face_plate_thickness,
        spacer_thickness=hardware.spacer_thickness,
        spinner_diameter=hardware.spinner_diameter,
        clocking=specification.clocking,
        holes=_hole_centres(pattern.bolts, circle, specification.clocking),
    )


def has_thickness(specification: Specification) -> bool:
    """Whether the boss's thickness is the customer's or the hub pattern's, and so not ours to choose."""
    return (specification.boss_thickness or known(specification.hub.boss_thickness)) is not None


def deep_enough(blade: Blade, boss_diameter: float) -> float:
    """Thickness in m of a boss as deep as the blade that leaves it; boss diameter in m.

    In whole millimetres, the usual one at least and the thickest that is computed at most.
    """
    thickness = USUAL_BOSS_THICKNESS
    while thickness < THICKEST_BOSS:
        deepest = loft(blade, boss_diameter, thickness).deepest
        if deepest <= thickness:
            break
        thickness = ceil(deepest * 1000) / 1000
    return min(thickness, THICKEST_BOSS)


def _hole_centres(bolts: int | None, circle: float | None, clocking: float) -> Array:
    """Hole centres (n, 2) in m, clockwise from the first blade's centre line as seen from the front."""
    if not bolts or circle is None:
        return np.zeros((0, 2))
    angle = np.radians(clocking + 360 / bolts * np.arange(bolts))
    return 0.5 * circle * np.column_stack([np.sin(angle), np.cos(angle)])
