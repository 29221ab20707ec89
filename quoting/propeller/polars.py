"""Lift and drag of the blade's sections over -90 to 90 degrees, from the project's table or a given polar."""

from dataclasses import dataclass
from functools import cache
from importlib.resources import as_file, files

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

PLATE_DRAG = 2.0
_FLAT_DRAG = 0.02
_PAST_STALL = 6.0
_BLEND = 10.0


@dataclass(frozen=True, eq=False)
class Polar:
    """Sections' coefficients on a uniform grid of angles to the chord line.

    `alpha` (a,) in rad rising by equal steps from -90 to 90 degrees, `t_c` (t,) and `log10_reynolds` (r,)
    rising; `lift` and `drag` have shape (t, r, a). A table with one t/c or one Reynolds number holds for all.
    """

    alpha: Array
    t_c: Array
    log10_reynolds: Array
    lift: Array
    drag: Array

    @property
    def step(self) -> float:
        return float(self.alpha[1] - self.alpha[0])

    def at_thickness(self, t_c: Array) -> tuple[Array, Array]:
        """Lift and drag at thickness ratios `t_c` (k,), held beyond the table's ends: two arrays (k, r, a)."""
        if self.t_c.size == 1:
            shape = (t_c.size, *self.lift.shape[1:])
            return np.broadcast_to(self.lift[0], shape), np.broadcast_to(self.drag[0], shape)
        held = np.clip(t_c, self.t_c[0], self.t_c[-1])
        low = np.clip(np.searchsorted(self.t_c, held, "right") - 1, 0, self.t_c.size - 2)
        share = ((held - self.t_c[low]) / (self.t_c[low + 1] - self.t_c[low]))[:, None, None]
        lift = self.lift[low] + share * (self.lift[low + 1] - self.lift[low])
        drag = self.drag[low] + share * (self.drag[low + 1] - self.drag[low])
        return lift, drag


def extended(alpha_deg: Array, lift: Array, drag: Array, wanted: Array) -> tuple[Array, Array]:
    """One section's curves carried to the angles `wanted` (deg) by a flat plate past the stall.

    The given curve is kept to 6 degrees past its greatest (and least) lift and blended over 10 degrees into
    lift 2 sin cos, drag 2 sin^2 + 0.02 (after Hoerner; the blend is our judgement).
    """
    stall, dive = alpha_deg[np.argmax(lift)], alpha_deg[np.argmin(np.where(alpha_deg <= 0, lift, np.inf))]
    high = min(stall + _PAST_STALL, alpha_deg[-1] - _BLEND)
    low = max(dive - _PAST_STALL, alpha_deg[0] + _BLEND)
    away = np.clip(np.maximum(wanted - high, low - wanted) / _BLEND, 0, 1)
    away = away**2 * (3 - 2 * away)
    sine, cosine = np.sin(np.radians(wanted)), np.cos(np.radians(wanted))
    plate_lift, plate_drag = PLATE_DRAG * sine * cosine, PLATE_DRAG * sine**2 + _FLAT_DRAG
    kept_lift, kept_drag = np.interp(wanted, alpha_deg, lift), np.interp(wanted, alpha_deg, drag)
    return (1 - away) * kept_lift + away * plate_lift, (1 - away) * kept_drag + away * plate_drag


@cache
def clark_y_family() -> Polar:
    """The project's own table: Clark-Y scaled in thickness, computed by tools/compute_polars.py."""
    with as_file(files("quoting.propeller").joinpath("tables", "polars.npz")) as path, np.load(path) as raw:
        table = {name: raw[name] for name in raw.files}
    wanted = np.arange(-90.0, 91.0)
    lift = np.empty((*table["lift"].shape[:2], wanted.size))
    drag = np.empty_like(lift)
    for row in np.ndindex(lift.shape[:2]):
        lift[row], drag[row] = extended(table["alpha_deg"], table["lift"][row], table["drag"][row], wanted)
    return Polar(np.radians(wanted), table["t_c"], table["log10_reynolds"], lift, drag)


def given(alpha_deg: ArrayLike, lift: ArrayLike, drag: ArrayLike) -> Polar:
    """A published polar of one section, for every station: degrees and coefficients, angles rising.

    A table that reaches -90 and 90 degrees is used as it stands, a shorter one is extended as a flat plate.
    Raises ValueError naming the column and row.
    """
    columns = {"alpha_deg": alpha_deg, "cl": lift, "cd": drag}
    angle, cl, cd = (np.atleast_1d(np.asarray(column, dtype=float)) for column in columns.values())
    for name, column in zip(columns, (angle, cl, cd), strict=True):
        if column.shape != angle.shape or angle.size < 5:
            raise ValueError(
                f"{name}: {column.size} values for {angle.size} angles, at least 5 rows are needed"
            )
        wrong = np.flatnonzero(~(np.abs(column) <= (180 if name == "alpha_deg" else 10)))
        if wrong.size:
            raise ValueError(f"{name}: row {wrong[0] + 1}: {column[wrong[0]]:g} is no usable value")
    falling = np.flatnonzero(np.diff(angle) <= 0)
    if falling.size:
        raise ValueError(f"alpha_deg: row {falling[0] + 2}: angles must rise")
    if angle[0] > -5 or angle[-1] < 10:
        raise ValueError("alpha_deg: the table must reach from -5 to 10 degrees at least")
    wanted = np.arange(-360.0, 361.0) / 4
    if angle[0] <= -90 and angle[-1] >= 90:
        curves = np.interp(wanted, angle, cl), np.interp(wanted, angle, cd)
    else:
        curves = extended(angle, cl, cd, wanted)
    return Polar(np.radians(wanted), np.array([0.12]), np.array([6.0]), *(c[None, None] for c in curves))
