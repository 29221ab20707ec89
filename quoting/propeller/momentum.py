"""Blade-element momentum theory station by station, regular at zero airspeed.

One unknown per station, the inflow angle phi (Ning, Wind Energy 17, 2014), in product form:

    R(phi) = Vy (4 F sin^2 phi - s Cn) - Vx (4 F sin phi cos phi + s Ct) = 0

with s = B c / (2 pi r), Cn = cl cos phi - cd sin phi, Ct = cl sin phi + cd cos phi and F Prandtl's tip and hub loss.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quoting.propeller.blade import Blade
from quoting.propeller.corrections import Corrections
from quoting.propeller.operating import OperatingPoints
from quoting.propeller.polars import Polar

Array = NDArray[np.float64]

_LEAST_PHI, _GREATEST_PHI = 1e-4, 2.2
_TOLERANCE = 2e-4
_SECANTS = 6
_ENCLOSURES = 30
_RISE_ENDS = 0.35
_LOSS_STEPS, _LOSS_END = 2048, 4.2
_LOSS = 2 / np.pi * np.arccos(np.exp(-(np.linspace(0, _LOSS_END, _LOSS_STEPS + 1) ** 2)))
_LOSS_RISE = np.diff(_LOSS, append=_LOSS[-1])
"""Prandtl's (2/pi) arccos(exp(-f)) over the root of f, where it is smooth: straight lines between are true to 1e-6."""


class Rows:
    """The blade's stations as columns (k, 1), and its polars as one complex table: lift + i drag."""

    def __init__(self, blade: Blade, x: Array, polar: Polar, corrections: Corrections) -> None:
        column = x[:, None]
        hub = blade.hub_fraction
        self.corrections = corrections
        self.radius = blade.radius * column
        self.chord = blade.chord_m(column)
        self.t_c = blade.thickness_ratio(column)
        self.solidity = blade.blades * self.chord / (2 * np.pi * self.radius)
        self.tip = np.sqrt(0.5 * blade.blades * (1 - column) / column)
        self.hub = np.sqrt(0.5 * blade.blades * (column - hub) / hub)
        self.curvature = corrections.decambering * self.chord / blade.radius
        self.blocked = corrections.blockage * self.solidity * self.t_c
        lift, drag = polar.at_thickness(x if polar.t_c.size == 1 else self.t_c[:, 0])
        lift = corrections.lift * lift
        drag = drag + corrections.lift_drag * lift**2
        if corrections.rotation:
            lift, drag = _with_rotation(lift, drag, polar.alpha, self.chord / self.radius, column)
        self.log_reynolds = polar.log10_reynolds
        self.first_alpha, self.step, self.angles = polar.alpha[0], polar.step, polar.alpha.size
        table = np.ascontiguousarray(lift + 1j * drag)
        self.table = table.ravel()
        self.rise = np.diff(table, axis=-1, append=table[..., -1:]).ravel()
        self.start = np.arange(x.size)[:, None] * (self.log_reynolds.size * self.angles)


def _with_rotation(
    lift: Array, drag: Array, alpha: Array, chord_radius: Array, x: Array
) -> tuple[Array, Array]:
    """Snel's stall delay, 3.1 (c/r)^2 of the way to potential lift; none beyond 0.8 R or past 30 degrees.

    The factor (Vy/W)^2 of the source is taken as one: it matters for stalled roots, where it nearly is. What a
    separated flow is given so is a force square to the chord, so it brings drag, tan(alpha) of the lift; as far as
    the flow is attached (Kirchhoff: root f = 2 root(cl / potential) - 1) suction at the nose takes it back.
    """
    reach = 3.1 * chord_radius**2 * np.clip((0.8 - x) / 0.2, 0, 1)
    fade = np.clip((np.radians(50) - np.abs(alpha)) / np.radians(20), 0, 1)
    middle = int(np.argmin(np.abs(alpha)))
    near = slice(middle - 8, middle + 1) if alpha.size < 400 else slice(middle - 32, middle + 1)
    zero = alpha[near][np.argmin(np.abs(lift[..., near]), axis=-1)][..., None]
    potential = 2 * np.pi * np.sin(alpha - zero)
    above = alpha > zero
    missing = np.where(above, np.maximum(potential - lift, 0), 0)
    held = np.minimum(reach, 1)[:, :, None] * fade * missing
    ratio = np.clip(np.divide(lift, potential, out=np.ones_like(lift), where=above), 0, 1)
    detached = 1 - np.clip(2 * np.sqrt(ratio) - 1, 0, 1)
    return lift + held, drag + held * detached * np.tan(np.clip(alpha, 0, 1.2))


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """What is known at each station and point before solving: arrays that broadcast to (k, m).

    Undisturbed speeds, their sum and inflow angle, blade angle, roots of the tip and hub losses' exponents times
    sin(phi), the cell's row in the polar table and its share of the next Reynolds row, Prandtl-Glauert's rise (None:
    off).
    """

    axial: Array
    turning: Array
    speed: Array
    phi0: Array
    angle: Array
    solidity: Array
    tip: Array
    hub: Array
    curvature: Array
    blocked: Array
    t_c: Array
    mach: Array
    base: NDArray[np.intp]
    share: Array | None
    rise: Array | None

    def only(self, chosen: NDArray[np.bool_]) -> "Cells":
        """The cells where `chosen` holds, as flat arrays."""
        at = np.flatnonzero(chosen)
        row = at // chosen.shape[1] if chosen.ndim == 2 else at

        def picked(values: Array | None) -> Array | None:
            if values is None:
                return None
            if values.shape == chosen.shape:
                return values.take(at)
            return (
                values.take(row) if values.shape[-1] == 1 else np.broadcast_to(values, chosen.shape).take(at)
            )

        return Cells(*(picked(getattr(self, name)) for name in Cells.__slots__))  # type: ignore[arg-type]


def _cells(rows: Rows, angle: Array, points: OperatingPoints, wake: float) -> tuple[Cells, Array]:
    """The cells of these points, and their Reynolds numbers (k, m)."""
    shape = (rows.radius.size, points.speed.size)
    axial = np.broadcast_to(points.airspeed * (1 - wake), shape)
    turning = 2 * np.pi * points.speed * rows.radius
    speed = np.sqrt(axial * axial + turning * turning)
    mach = speed / points.sound
    reynolds = speed * rows.chord / points.viscosity
    base, share = _table_place(rows, reynolds)
    rise = 1 / np.sqrt(1 - np.minimum(mach, 0.78) ** 2) - 1 if rows.corrections.compressibility else None
    cells = Cells(
        axial=axial,
        turning=turning,
        speed=speed,
        phi0=np.arctan(axial / turning),
        angle=np.broadcast_to(angle, shape),
        solidity=rows.solidity,
        tip=rows.tip,
        hub=rows.hub,
        curvature=rows.curvature if rise is None else rows.curvature * (1 + rise),
        blocked=rows.blocked / np.maximum(np.sin(angle), 0.05),
        t_c=rows.t_c,
        mach=mach,
        base=base,
        share=share,
        rise=rise,
    )
    return cells, reynolds


def _table_place(rows: Rows, reynolds: Array) -> tuple[NDArray[np.intp], Array | None]:
    levels = rows.log_reynolds
    if levels.size == 1:
        return np.broadcast_to(rows.start, reynolds.shape), None
    fixed = rows.corrections.reynolds
    seen = np.log10(np.maximum(reynolds, 1.0) if fixed is None else np.full_like(reynolds, fixed))
    place = np.clip(seen, levels[0], levels[-1])
    level = np.clip(np.searchsorted(levels, place, "right") - 1, 0, levels.size - 2)
    return rows.start + level * rows.angles, (place - levels[level]) / (levels[level + 1] - levels[level])


def _incidence(cells: Cells, phi: Array, sine_cosine: Array) -> Array:
    """Angle of attack after what the flow's curvature and the blades' own thickness take off it."""
    return np.asarray(cells.angle - phi - cells.curvature * (phi - cells.phi0) - cells.blocked * sine_cosine)


def _coefficients(rows: Rows, cells: Cells, alpha: Array) -> tuple[Array, Array]:
    """Lift and drag coefficients at angles `alpha`, with the Mach corrections.

    Prandtl-Glauert to Mach 0.78, fading between 20 and 30 degrees; drag rise 20 (M - Mc)^4 with
    Mc = 0.87 - t/c - |cl|/10 - 0.108 (Korn and Lock), ending 0.35 beyond Mc.
    """
    place = np.clip((alpha - rows.first_alpha) / rows.step, 0, rows.angles - 1.000001)
    cell = place.astype(np.intp)
    part = place - cell
    at = cells.base + cell
    value = rows.table.take(at)
    value += part * rows.rise.take(at)
    if cells.share is not None:
        at += rows.angles
        upper = rows.table.take(at)
        upper += part * rows.rise.take(at)
        value += cells.share * (upper - value)
    lift, drag = value.real, value.imag
    if cells.rise is not None:
        lift = lift * (1 + cells.rise * np.clip(3 - np.abs(alpha) * (18 / np.pi), 0, 1))
        excess = np.clip(cells.mach - (0.762 - cells.t_c - 0.1 * np.abs(lift)), 0, _RISE_ENDS)
        drag = drag + 20 * (excess * excess) ** 2
    return lift, drag


def _loss(cells: Cells, sine: Array) -> Array:
    """Prandtl's tip and hub loss factor, not below 1e-4."""
    root = (_LOSS_STEPS / _LOSS_END) / np.sqrt(sine)
    return np.asarray(np.maximum(_edge_loss(cells.tip * root) * _edge_loss(cells.hub * root), 1e-4))


def _edge_loss(place: Array) -> Array:
    held = np.minimum(place, _LOSS_STEPS)
    cell = held.astype(np.intp)
    return np.asarray(_LOSS.take(cell) + (held - cell) * _LOSS_RISE.take(cell))


def _sine_cosine(phi: Array) -> tuple[Array, Array]:
    """Sine and cosine of angles between 0 and 180 degrees."""
    sine = np.sin(phi)
    cosine = np.sqrt(np.maximum(1 - sine * sine, 0))
    return sine, np.where(phi > 0.5 * np.pi, -cosine, cosine)


def _residual(rows: Rows, cells: Cells, phi: Array) -> Array:
    sine, cosine = _sine_cosine(phi)
    lift, drag = _coefficients(rows, cells, _incidence(cells, phi, sine * cosine))
    four = 4 * _loss(cells, sine) * sine
    normal, along = lift * cosine - drag * sine, lift * sine + drag * cosine
    return np.asarray(
        cells.turning * (four * sine - cells.solidity * normal)
        - cells.axial * (four * cosine + cells.solidity * along)
    )


def _first_guess(cells: Cells) -> tuple[Array, Array]:
    """Inflow angle for a straight lift curve and a rough loss factor, and the slope of R there."""
    full = cells.angle + 0.6 * cells.t_c - cells.phi0
    incidence = np.clip(full, -0.3, 0.35)
    sine, cosine = cells.axial / cells.speed, cells.turning / cells.speed
    loss = _loss(cells, np.maximum(sine + 0.4 * incidence, 0.05))
    lift = 5.5 * cells.solidity
    load = lift * incidence
    a, b = 4 * loss * cosine, 4 * loss * sine + lift
    root = np.sqrt(np.maximum(b * b + 4 * a * load, 0.04 * b * b))
    # a stalled root in still air sits about half-way between the disc and its own blade angle
    induced = np.maximum(2 * load / (b + root), 0.5 * (full - 0.35))
    phi = np.clip(cells.phi0 + induced, 2e-3, 1.5)
    return phi, cells.speed * root


def _inflow(rows: Rows, cells: Cells) -> Array:
    """Inflow angle of every cell: a step by the estimated slope, secant steps, enclosure for what stays open."""
    older, slope = _first_guess(cells)
    before = _residual(rows, cells, older)
    newer = np.clip(older - np.clip(before / slope, -0.15, 0.15), _LEAST_PHI, _GREATEST_PHI)
    result = newer.copy()
    open_cells = np.ones(newer.shape, dtype=bool)
    for _ in range(_SECANTS):
        after = _residual(rows, cells, newer)
        change = after - before
        flat = change == 0
        step = np.where(flat, 0, -after * (newer - older) / np.where(flat, 1, change))
        older, before = newer, after
        newer = np.clip(newer + np.clip(step, -0.25, 0.25), _LEAST_PHI, _GREATEST_PHI)
        result[open_cells] = newer.ravel()
        moving = ~((np.abs(step) < _TOLERANCE) & ~flat & (newer > _LEAST_PHI) & (newer < _GREATEST_PHI))
        if not moving.any():
            return result
        open_cells[open_cells] = moving.ravel()
        cells, older, before, newer = cells.only(moving), older[moving], before[moving], newer[moving]
    result[open_cells] = _enclosed(rows, cells)
    return result


def _enclosed(rows: Rows, cells: Cells) -> Array:
    """False position (Illinois) over 0 to 126 degrees; NaN where no steady flow lies between them."""
    low, high = np.full(cells.phi0.shape, _LEAST_PHI), np.full(cells.phi0.shape, _GREATEST_PHI)
    below, above = _residual(rows, cells, low), _residual(rows, cells, high)
    lost = (below > 0) | (above < 0)
    below, above = np.where(lost, -1.0, below), np.where(lost, 1.0, above)
    middle = low
    for turn in range(_ENCLOSURES):
        falsi = (low * above - high * below) / (above - below)
        middle, last = np.where(turn % 4 == 3, 0.5 * (low + high), falsi), middle
        if (lost | (np.abs(middle - last) < 0.1 * _TOLERANCE)).all():
            break
        here = _residual(rows, cells, middle)
        over = here > 0
        below, above = np.where(over, 0.5 * below, here), np.where(over, here, 0.5 * above)
        low, high = np.where(over, low, middle), np.where(over, middle, high)
    return np.where(lost, np.nan, middle)


def loads(rows: Rows, angle: Array, points: OperatingPoints, wake: float, first: int) -> dict[str, Array]:
    cells, reynolds = _cells(rows, angle, points, wake)
    phi = _inflow(rows, cells)
    lost = np.flatnonzero(np.isnan(phi).any(axis=0))
    if lost.size:
        raise ValueError(
            f"point {first + int(lost[0]) + 1}: no steady flow is found; the blade neither pulls in still air "
            "nor windmills within reach of the method"
        )
    sine, cosine = _sine_cosine(phi)
    alpha = _incidence(cells, phi, sine * cosine)
    lift, drag = _coefficients(rows, cells, alpha)
    speed = (cells.turning * cosine + cells.axial * sine) / (
        1 + cells.solidity * drag / (4 * _loss(cells, sine) * sine)
    )
    pressure = 0.5 * points.density * speed**2 * rows.chord
    return {
        "thrust_per_m": (pressure * (lift * cosine - drag * sine)).T,
        "torque_per_m": (pressure * (lift * sine + drag * cosine) * rows.radius).T,
        "alpha": alpha.T,
        "phi": phi.T,
        "lift": lift.T,
        "drag": drag.T,
        "mach": cells.mach.T,
        "reynolds": reynolds.T,
    }
