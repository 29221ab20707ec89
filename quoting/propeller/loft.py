"""The carved surface from boss to tip: twisted sections blended into the boss, one row of points per radius.

Drawing, solid and volume read this one surface. Axes of a row: s in the direction the blade moves, z the way
the aeroplane flies; the hub's middle plane is z = 0. The face (flat, seen from the slipstream) looks to -z.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quoting.propeller.blade import Blade

Array = NDArray[np.float64]

TRAILING_EDGE = 0.0025
"""Least thickness of the trailing edge in m; common practice, no source."""
CENTROID_HEIGHT = 0.412
"""Height of a section's centroid over its flat face as a fraction of the thickness (from the ordinates)."""
BLEND_END = 0.25
"""Fraction of the radius where the root's blend into the boss is over, for a boss well inside it."""
ROOT_WIDTH = 0.68
ROOT_DEPTH = 0.98
"""The root's superellipse (exponent 4) as fractions of the boss's diameter and thickness; common practice."""
EDGE_GAP = 0.02
"""Half the angle in rad round the root over which the trailing edge's thickness is spread."""
INNERMOST_ROW = 0.35
"""The surface runs on inside the boss to this fraction of the boss's radius, so that a solid joins cleanly."""
OUTERMOST_ROW = 0.9995


@dataclass(frozen=True, eq=False)
class Loft:
    """Rows of the surface: `r` (n,) in m, `points` (n, 65, 2) of (s, z) in m, from trailing edge over the back.

    `boss_radius` in m tells where the rows leave the boss.
    """

    r: Array
    points: Array
    boss_radius: float

    @property
    def forward_edge(self) -> Array:
        """Largest s of each row: the outline on the side the blade moves to."""
        return np.asarray(self.points[..., 0].max(-1))

    @property
    def rearward_edge(self) -> Array:
        return np.asarray(self.points[..., 0].min(-1))

    @property
    def front(self) -> Array:
        """Largest z of each row."""
        return np.asarray(self.points[..., 1].max(-1))

    @property
    def back(self) -> Array:
        return np.asarray(self.points[..., 1].min(-1))

    @property
    def deepest(self) -> float:
        """Greatest depth of the blade along the shaft in m, front plus back, from where it leaves the boss outward."""
        return float((self.front - self.back)[self.r >= self.boss_radius].max())


def twisted_sections(blade: Blade, x: ArrayLike, edge: float = TRAILING_EDGE) -> Array:
    """Sections at fractions of the radius `x`, turned to their blade angle: (n, 65, 2) of (s, z) in m.

    Each is set so that the middle of its depth lies in the hub's middle plane, and turned about its pitch axis at
    the height of its centroid, so that the pull of the outer blade does not bend the inner one edgewise.
    """
    station = np.atleast_1d(np.asarray(x, dtype=float))
    flat = blade.section_outlines(station, edge)
    angle = blade.angle_rad(station)[:, None]
    along, off = flat[..., 0], flat[..., 1] - CENTROID_HEIGHT * blade.thickness_m(station)[:, None]
    s = -along * np.cos(angle) - off * np.sin(angle)
    z = -along * np.sin(angle) + off * np.cos(angle)
    z -= 0.5 * (z.max(-1, keepdims=True) + z.min(-1, keepdims=True))
    return np.stack([s, z], axis=-1)


def _root(boss_diameter: float, boss_thickness: float, angle: Array, count: int) -> Array:
    """The superellipse the blade grows into, once per blade angle in `angle` (n,) rad; shape (n, count, 2).

    It is one and the same curve; its points are numbered round it from where a section at that angle has its
    trailing edge, so that edges and faces run smoothly from the section into the root.
    """
    half = count // 2
    turn = np.concatenate([np.linspace(np.pi, 0, half + 1), np.linspace(0, -np.pi, half + 1)[1:]])
    turn[0] -= EDGE_GAP
    turn[-1] += EDGE_GAP
    theta = turn[None, :] + angle[:, None]
    s = 0.5 * ROOT_WIDTH * boss_diameter * np.sign(np.cos(theta)) * np.abs(np.cos(theta)) ** 0.5
    z = 0.5 * ROOT_DEPTH * boss_thickness * np.sign(np.sin(theta)) * np.abs(np.sin(theta)) ** 0.5
    return np.stack([s, z], axis=-1)


def rows(blade: Blade, boss_diameter: float, count: int) -> Array:
    """Radii in m of `count` rows from inside the boss to the tip; the last third crowds into the outer tenth."""
    inner, outer = INNERMOST_ROW * 0.5 * boss_diameter, OUTERMOST_ROW * blade.radius
    crowded = count // 3
    start = 0.9 * blade.radius
    even = np.linspace(inner, start, count - crowded)
    closing = start + (outer - start) * np.sin(np.linspace(0, np.pi / 2, crowded + 1)[1:])
    return np.concatenate([even, closing])


def carved(
    blade: Blade, boss_diameter: float, boss_thickness: float, r: ArrayLike, edge: float = TRAILING_EDGE
) -> Array:
    """The carved outline at each radius `r` in m: (n, 65, 2) of (s, z) in m, blended into the boss at the root."""
    radii = np.atleast_1d(np.asarray(r, dtype=float))
    sections = twisted_sections(blade, radii / blade.radius, edge)
    root = _root(boss_diameter, boss_thickness, blade.angle_rad(radii / blade.radius), sections.shape[1])
    start = 0.5 * boss_diameter
    end = max(BLEND_END * blade.radius, start + 0.10 * blade.radius)
    t = np.clip((radii - start) / (end - start), 0, 1)
    share = (1 - t * t * (3 - 2 * t))[:, None, None]
    return np.asarray(share * root + (1 - share) * sections)


def loft(
    blade: Blade,
    boss_diameter: float,
    boss_thickness: float,
    *,
    count: int = 48,
    edge: float = TRAILING_EDGE,
) -> Loft:
    """The surface of one blade. Lengths in m; `count` rows.

    Raises ValueError when the boss is not smaller than half the propeller.
    """
    if not 0 < boss_diameter < 0.5 * blade.diameter:
        raise ValueError(
            f"boss_diameter: {boss_diameter:g} m given, accepted is less than half of {blade.diameter:g} m"
        )
    if not 0 < boss_thickness < blade.diameter:
        raise ValueError(f"boss_thickness: {boss_thickness:g} m given, accepted is more than 0")
    r = rows(blade, boss_diameter, count)
    points = carved(blade, boss_diameter, boss_thickness, r, edge)
    return Loft(r=r, points=points, boss_radius=0.5 * boss_diameter)
