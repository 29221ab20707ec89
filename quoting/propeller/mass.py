"""Volume, mass and inertia by integrating the lofted sections: no mesh needed."""

from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from quoting.propeller.hub import Boss
from quoting.propeller.loft import Loft

Array = NDArray[np.float64]

DRIED_FINISH = 0.55
"""Solids left of a litre of varnish in kg; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Mass:
    """Masses in kg, volumes in m3, inertia about the shaft in kg m2, lengths in m, surface in m2.

    `total` is wood, finish and guard; `wood_volume` is the whole propeller less bore, holes and counterbores.
    `blade_surface` is all blades outside the boss. `blade_moment` is one blade's mass times the radius of its
    centre, kg m, `blade_mass` the wood of one blade outside the boss.
    """

    wood_volume: float
    wood: float
    finish: float
    guard: float
    total: float
    inertia: float
    blade_mass: float
    blade_moment: float
    blade_surface: float


def polygon_sums(points: Array, floor: Array) -> tuple[Array, Array, Array]:
    """Area, first and second moment about s = 0 of the part of each polygon with s > `floor`.

    `points` (n, m, 2) of (s, z) in m, closed; `floor` (n,). Integrates s^k z ds along the outline clipped at
    the floor, whose own edge adds nothing.
    """
    s0, z0 = points[..., 0], points[..., 1]
    s1, z1 = np.roll(s0, -1, axis=-1), np.roll(z0, -1, axis=-1)
    bound = floor[:, None]
    a, b = np.maximum(s0, bound), np.maximum(s1, bound)
    run = s1 - s0
    slope = np.divide(z1 - z0, run, out=np.zeros_like(run), where=np.abs(run) > 1e-15)
    # z = z0 + slope (s - s0) along the edge, so the integrals of s^k z are polynomials in s
    base = z0 - slope * s0
    area = base * (b - a) + slope * (b**2 - a**2) / 2
    first = base * (b**2 - a**2) / 2 + slope * (b**3 - a**3) / 3
    second = base * (b**3 - a**3) / 3 + slope * (b**4 - a**4) / 4
    signs = np.sign((s0 * z1 - s1 * z0).sum(-1))
    return -signs * area.sum(-1), -signs * first.sum(-1), -signs * second.sum(-1)


def within_boss_refined(surface: Loft, count: int = 32) -> Loft:
    """The same ruled surface with `count` rows crossing the boss's rim, where the part outside it changes fast."""
    inner = np.linspace(surface.r[0], surface.boss_radius, count)
    r = np.unique(np.concatenate([inner, surface.r]))
    above = np.clip(np.searchsorted(surface.r, r), 1, surface.r.size - 1)
    low, high = surface.r[above - 1], surface.r[above]
    share = ((r - low) / (high - low))[:, None, None]
    points = (1 - share) * surface.points[above - 1] + share * surface.points[above]
    return Loft(r=r, points=points, boss_radius=surface.boss_radius)


def outside_boss(surface: Loft) -> tuple[Array, Array]:
    """Area in m2 and second moment about the radial line in m4 of each row's part outside the boss cylinder."""
    half = np.sqrt(np.maximum(surface.boss_radius**2 - surface.r**2, 0.0))
    forward, _, forward_second = polygon_sums(surface.points, half)
    aft, _, aft_second = polygon_sums(surface.points * np.array([-1.0, 1.0]), half)
    return forward + aft, forward_second + aft_second


def girth(surface: Loft) -> Array:
    """Length round each row's outline in m."""
    step = np.diff(surface.points, axis=-2, append=surface.points[..., :1, :])
    return np.asarray(np.hypot(step[..., 0], step[..., 1]).sum(-1))


def mass(
    surface: Loft,
    boss: Boss,
    blades: int,
    density: float,
    *,
    coats: int = 0,
    spread: float = 12.0,
    guard_length: float = 0.0,
    guard_mass_per_length: float = 0.0,
    guard_radius: float = 0.0,
) -> Mass:
    """Mass of the finished propeller from one blade's `surface` and the `boss`.

    `density` in kg/m3; `spread` in m2 per litre and coat; `guard_length` in m per blade, its middle at
    `guard_radius`. The finish is taken as spread evenly along the blades.
    """
    surface = within_boss_refined(surface)
    r = surface.r
    area, second = outside_boss(surface)
    blade_volume = float(np.trapezoid(area, r))
    blade_first = float(np.trapezoid(area * r, r))
    blade_inertia = float(np.trapezoid(area * r**2 + second, r))
    beyond = r >= surface.boss_radius
    blade_surface = float(np.trapezoid(girth(surface)[beyond], r[beyond]))
    cylinder = 0.25 * pi * boss.diameter**2 * boss.thickness
    wood_volume = blades * blade_volume + cylinder - boss.removed_volume
    finish_area = blades * blade_surface + pi * boss.diameter * (0.5 * boss.diameter + boss.thickness)
    finish = coats * finish_area / spread * DRIED_FINISH
    guard = blades * guard_length * guard_mass_per_length
    wood = density * wood_volume
    inertia = density * (blades * blade_inertia + cylinder * boss.diameter**2 / 8 - _cut_inertia(boss))
    inertia += finish * blade_inertia / blade_volume + guard * guard_radius**2
    return Mass(
        wood_volume=wood_volume,
        wood=wood,
        finish=finish,
        guard=guard,
        total=wood + finish + guard,
        inertia=inertia,
        blade_mass=density * blade_volume,
        blade_moment=density * blade_first,
        blade_surface=blades * blade_surface,
    )


def _cut_inertia(boss: Boss) -> float:
    """Second moment about the shaft of the wood cut from the boss, m5; what is unknown counts as uncut."""
    bore = boss.bore or 0.0
    cut = 0.25 * pi * bore**2 * boss.bore_depth
    inertia = cut * bore**2 / 8
    if boss.bolts is None or boss.circle is None or boss.hole is None:
        return inertia
    return inertia + (boss.removed_volume - cut) * boss.circle**2 / 4
