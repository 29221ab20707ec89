"""Stress along the blade: centrifugal pull, bending with centrifugal relief, deflection, and the worst station named."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quoting.propeller.catalogue import Timber
from quoting.propeller.figure import Figure, known
from quoting.propeller.loft import Loft
from quoting.propeller.sections import properties

Array = NDArray[np.float64]

TENSION_FACTOR_WANTED = 3.5
COMPRESSION_FACTOR_WANTED = 1.8
FACTOR_SOURCE = "the shop's own acceptance factors: judgement, no published wooden-blade factor was at hand"


@dataclass(frozen=True, eq=False)
class Loads:
    """Air loads of one blade in one case: `r` (n,) in m rising, `thrust` and `torque_force` (n,) in N/m.

    `thrust` is dT/dr, `torque_force` is dQ/dr / r, both per blade; `speed` in rev/s of the propeller.
    """

    name: str
    speed: float
    r: Array
    thrust: Array
    torque_force: Array


@dataclass(frozen=True, eq=False)
class StressCase:
    """One case along the blade; arrays (n,) over `r_R`; forces N, moments N m, stresses Pa, lengths m.

    `tension` and `compression` are the greatest of either sign over the section (both positive numbers; a section
    pulled all over has compression 0). `bending_linear` is the greatest bending stress without centrifugal
    relief, `bending` with it. `tension_factor` is modulus of rupture over tension, `compression_factor` crushing
    strength along the grain over compression; None where the timber has no published strength.
    """

    name: str
    speed: float
    r_R: Array
    pull: Array
    moment_linear: Array
    moment: Array
    direct: Array
    bending_linear: Array
    bending: Array
    tension: Array
    compression: Array
    tip_deflection_linear: float | None
    tip_deflection: float | None
    worst_station: float
    tension_factor: float | None
    compression_factor: float | None


@dataclass(frozen=True, eq=False)
class Strength:
    """All cases of one blade. `worst` is the case with the least tension factor (or the most tension).

    `pull_twice_factor` is modulus of rupture over the direct stress of twice the greatest centrifugal load, shown
    for comparison with 14 CFR 35.35, which excepts fixed-pitch wooden propellers of conventional design.
    """

    cases: tuple[StressCase, ...]
    root_station: float
    pull_twice_factor: float | None

    @property
    def worst(self) -> StressCase:
        return max(self.cases, key=lambda case: float(case.tension.max()))


@dataclass(frozen=True, eq=False)
class _Grid:
    """Beam nodes from the boss's edge to the tip with the carved section there, in the axes of the propeller.

    `in_plane` (integral of s^2), `out_of_plane` (of z^2) and `cross` (of s z) about the centroid, which stands at
    `ahead` (s) and `forward` (z). `weak` is the least second moment, `cos` and `sin` turn towards its axis.
    """

    r: Array
    area: Array
    in_plane: Array
    out_of_plane: Array
    cross: Array
    ahead: Array
    forward: Array
    weak: Array
    cos: Array
    sin: Array
    fibres: Array


def strength(surface: Loft, timber: Timber, density: float, loads: tuple[Loads, ...]) -> Strength:
    """Stress of one lofted blade, held at the edge of the boss, under each of `loads`.

    Relief is worked in the direction the section bends most easily, by Hermite beam elements with the geometric
    stiffness of the pull; the pull's moment about centroids off the radial line is counted. `density` in
    kg/m3. A timber without a published modulus of elasticity is given no relief.
    """
    grid = _grid(surface)
    tip = float(surface.r[-1])
    cases = tuple(_case(grid, tip, timber, density, load) for load in loads)
    greatest = max((float(case.direct.max()) for case in cases), default=0.0)
    rupture = known(timber.modulus_of_rupture)
    twice = rupture / (2 * greatest) if rupture is not None and greatest > 0 else None
    return Strength(cases=cases, root_station=surface.boss_radius / tip, pull_twice_factor=twice)


def _grid(surface: Loft) -> _Grid:
    """Every row outside the boss is a node."""
    held = surface.r > surface.boss_radius
    points = surface.points[held]
    section = properties(points)
    # s runs ahead and z forward, so the section's u is s and its v is z
    mean, half = 0.5 * (section.i_vv + section.i_uu), 0.5 * (section.i_vv - section.i_uu)
    turn = 0.5 * np.arctan2(section.i_uv, half)
    return _Grid(
        r=surface.r[held],
        area=section.area,
        in_plane=section.i_vv,
        out_of_plane=section.i_uu,
        cross=section.i_uv,
        ahead=section.u,
        forward=section.v,
        weak=mean - np.hypot(half, section.i_uv),
        cos=np.cos(turn),
        sin=np.sin(turn),
        fibres=points - np.stack([section.u, section.v], axis=-1)[:, None, :],
    )


def _outboard(values: Array, r: Array) -> Array:
    """Integral of `values` from each node to the tip, by trapezoids."""
    steps = 0.5 * (values[1:] + values[:-1]) * np.diff(r)
    return np.concatenate([np.cumsum(steps[::-1])[::-1], [0.0]])


def bending_moment(load: Array, r: Array) -> Array:
    """Moment at each node of the line load `load` (N/m) outboard of it: the integral of load (r' - r) dr'."""
    return np.asarray(_outboard(load * r, r) - r * _outboard(load, r))


def centrifugal_pull(area: Array, r: Array, density: float, speed: float) -> Array:
    """Pull in N at each node of the blade outboard of it, at `speed` rev/s."""
    return np.asarray((2 * np.pi * speed) ** 2 * density * _outboard(area * r, r))


def deflection(r: Array, rigidity: Array, pull: Array, load: Array, offset: Array | None = None) -> Array:
    """Deflection in m at each node `r` of a cantilever held at r[0]: (EI w'')'' - (F (w + w0)')' = q.

    `rigidity` EI in N m2, `pull` F in N, `load` q in N/m, `offset` w0 in m, all at the nodes. Hermite cubic
    elements, with the geometric stiffness F/(30 l) of a pulled element.
    """
    span = np.diff(r)
    bend = 0.5 * (rigidity[1:] + rigidity[:-1]) / span**3
    taut = 0.5 * (pull[1:] + pull[:-1]) / (30 * span)
    scale = np.stack([np.ones_like(span), span, np.ones_like(span), span], axis=-1)
    sides = scale[:, :, None] * scale[:, None, :]
    geometric = taut[:, None, None] * _GEOMETRIC * sides
    elastic = bend[:, None, None] * _ELASTIC * sides
    places = 2 * np.arange(span.size)[:, None] + np.arange(4)
    stiffness = np.zeros((2 * r.size, 2 * r.size))
    np.add.at(stiffness, (places[:, :, None], places[:, None, :]), elastic + geometric)
    force = np.zeros(2 * r.size)
    middle = 0.5 * (load[1:] + load[:-1]) * span
    np.add.at(force, places, middle[:, None] * _UNIFORM * scale)
    if offset is not None:
        shape = np.stack([offset, np.gradient(offset, r)], axis=-1).ravel()[places]
        np.add.at(force, places, -np.einsum("eij,ej->ei", geometric, shape))
    free = np.linalg.solve(stiffness[2:, 2:], force[2:])
    return np.concatenate([[0.0], free[0::2]])


_ELASTIC = np.array([[12.0, 6, -12, 6], [6, 4, -6, 2], [-12, -6, 12, -6], [6, 2, -6, 4]])
_GEOMETRIC = np.array([[36.0, 3, -36, 3], [3, 4, -3, -1], [-36, -3, 36, -3], [3, -1, -3, 4]])
_UNIFORM = np.array([1 / 2, 1 / 12, 1 / 2, -1 / 12])


def relief(r: Array, pull_load: Array, shape: Array) -> Array:
    """Moment at each node that the pull takes off a blade standing in `shape` (m) out of its plane, by statics.

    `pull_load` is the centrifugal load f in N/m (or per unit of anything): the integral of f (w(r') - w(r)).
    """
    return np.asarray(_outboard(pull_load * shape, r) - shape * _outboard(pull_load, r))


def _case(grid: _Grid, tip_radius: float, timber: Timber, density: float, loads: Loads) -> StressCase:
    r, turn = grid.r, (2 * np.pi * loads.speed) ** 2
    thrust = np.interp(r, loads.r, loads.thrust, right=0.0)
    drag = np.interp(r, loads.r, loads.torque_force, right=0.0)
    flap, lag = bending_moment(thrust, r), bending_moment(drag, r)
    pull = centrifugal_pull(grid.area, r, density, loads.speed)
    direct = pull / grid.area
    bending_linear = _bending(grid, flap, lag)
    bent, tip, tip_linear = np.zeros_like(r), None, None
    elasticity = known(timber.modulus_of_elasticity)
    if elasticity is not None:
        rigidity = elasticity * grid.weak
        flatwise = thrust * grid.cos + drag * grid.sin
        tip_linear = float(deflection(r, rigidity, np.zeros_like(pull), flatwise)[-1])
        bent = deflection(r, rigidity, pull, flatwise, grid.forward * grid.cos)
        tip = float(bent[-1])
    relieving = turn * density * relief(r, grid.area * r, grid.forward + bent * grid.cos)
    sweeping = turn * density * swept_moment(r, grid.area, bent * grid.sin - grid.ahead)
    bending = _bending(grid, flap - relieving, lag + sweeping)
    total = direct[:, None] + bending
    tension = np.maximum(total.max(-1), 0.0)
    compression = np.maximum(-total.min(-1), 0.0)
    return StressCase(
        name=loads.name,
        speed=loads.speed,
        r_R=r / tip_radius,
        pull=pull,
        moment_linear=flap * grid.cos + lag * grid.sin,
        moment=(flap - relieving) * grid.cos + (lag + sweeping) * grid.sin,
        direct=direct,
        bending_linear=bending_linear.max(-1),
        bending=bending.max(-1),
        tension=tension,
        compression=compression,
        tip_deflection_linear=tip_linear,
        tip_deflection=tip,
        worst_station=float(r[int(np.argmax(tension))] / tip_radius),
        tension_factor=_factor(timber.modulus_of_rupture, tension),
        compression_factor=_factor(timber.compression_parallel, compression),
    )


def swept_moment(r: Array, area: Array, aft: Array) -> Array:
    """In-plane moment per (rho Omega^2), m5, of the pull on centroids standing `aft` (m) of the radial line."""
    return np.asarray(aft * _outboard(area * r, r) - r * _outboard(area * aft, r))


def _bending(grid: _Grid, flap: Array, lag: Array) -> Array:
    """Bending stress in Pa at every outline point (n, 65) by the unsymmetric formula; tension is positive.

    `flap` bends the blade forward (to +z), so its rear face is pulled; `lag` holds it back (to -s).
    """
    determinant = grid.in_plane * grid.out_of_plane - grid.cross**2
    forward = (flap * grid.in_plane + lag * grid.cross) / determinant
    ahead = -(lag * grid.out_of_plane + flap * grid.cross) / determinant
    return np.asarray(-(forward[:, None] * grid.fibres[..., 1] + ahead[:, None] * grid.fibres[..., 0]))


def _factor(strength: Figure | None, stress: Array) -> float | None:
    greatest, breaks = float(stress.max()), known(strength)
    if breaks is None or greatest <= 0:
        return None
    return breaks / greatest
