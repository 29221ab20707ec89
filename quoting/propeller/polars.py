"""Lift and drag of the blade's sections over -90 to 90 degrees, from the project's table or a given polar."""

from dataclasses import dataclass
from functools import cache
from importlib.resources import as_file, files

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

STALL_EARLY = 4.0
STALL_BLEND = 8.0
"""Degrees before the table's greatest lift at which the flow begins to leave the section, and over which it has left:
boundary-layer programs let thin sections stall late. Fitted, see `corrections.WOODEN`."""
_FLAT_DRAG = 0.02
_GIVEN_BLEND = 10.0


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


def separated(alpha_deg: Array, zero_lift_deg: float = 0.0) -> tuple[Array, Array]:
    """Lift and drag of a section the flow has left, by the normal force of a stalled plate.

    cn = 1 / (0.222 + 0.283 / sin a) (Hoerner, Fluid-Dynamic Lift, from memory), with `a` measured from the angle of
    no lift for a cambered section, that offset dying out towards 90 degrees; drag of the plate edge-on 0.02.
    """
    alpha = np.radians(alpha_deg)
    face = alpha - np.radians(zero_lift_deg) * np.cos(alpha)
    sine = np.sin(face)
    normal = sine / (0.222 * np.abs(sine) + 0.283)
    return normal * np.cos(face), normal * sine + _FLAT_DRAG


def zero_lift(alpha_deg: Array, lift: Array) -> float:
    """Angle of no lift nearest to zero in degrees; 0 where the curve never crosses within 15 degrees."""
    crossing = np.flatnonzero((lift[:-1] <= 0) & (lift[1:] > 0) & (np.abs(alpha_deg[:-1]) < 15))
    if not crossing.size:
        return 0.0
    at = crossing[np.argmin(np.abs(alpha_deg[crossing]))]
    share = -lift[at] / (lift[at + 1] - lift[at])
    return float(alpha_deg[at] + share * (alpha_deg[at + 1] - alpha_deg[at]))


def extended(
    alpha_deg: Array, lift: Array, drag: Array, wanted: Array, held: tuple[float, float], blend: float
) -> tuple[Array, Array]:
    """One section's curves at the angles `wanted` (deg): as given between the two angles `held`, and over the next
    `blend` degrees on either side passing into a section the flow has left (`separated`)."""
    away = np.clip(np.maximum(wanted - held[1], held[0] - wanted) / blend, 0, 1)
    away = away**2 * (3 - 2 * away)
    plate = separated(wanted, zero_lift(alpha_deg, lift))
    kept = np.interp(wanted, alpha_deg, lift), np.interp(wanted, alpha_deg, drag)
    return (1 - away) * kept[0] + away * plate[0], (1 - away) * kept[1] + away * plate[1]


def stalling(alpha_deg: Array, lift: Array) -> tuple[float, float]:
    """The two angles in degrees at which the flow begins to leave the section, below and above."""
    stall = alpha_deg[np.argmax(lift)]
    dive = alpha_deg[np.argmin(np.where(alpha_deg <= 0, lift, np.inf))]
    high = min(stall - STALL_EARLY, alpha_deg[-1] - STALL_BLEND)
    return max(dive + STALL_EARLY, alpha_deg[0] + STALL_BLEND), high


@cache
def clark_y_family() -> Polar:
    """The project's own table: Clark-Y scaled in thickness, computed by tools/compute_polars.py."""
    with as_file(files("quoting.propeller").joinpath("tables", "polars.npz")) as path, np.load(path) as raw:
        table = {name: raw[name] for name in raw.files}
    wanted = np.arange(-90.0, 91.0)
    lift = np.empty((*table["lift"].shape[:2], wanted.size))
    drag = np.empty_like(lift)
    for row in np.ndindex(lift.shape[:2]):
        curves = table["alpha_deg"], table["lift"][row], table["drag"][row]
        lift[row], drag[row] = extended(*curves, wanted, stalling(*curves[:2]), STALL_BLEND)
    return Polar(np.radians(wanted), table["t_c"], table["log10_reynolds"], lift, drag)


def given(alpha_deg: ArrayLike, lift: ArrayLike, drag: ArrayLike) -> Polar:
    """A published polar of one section, for every station: degrees and coefficients, angles rising.

    A table that reaches -90 and 90 degrees is used as it stands; a shorter one too, and is carried on past its ends
    as a section the flow has left.
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
    pushing = np.flatnonzero(cd < 0)
    if pushing.size:
        raise ValueError(f"cd: row {pushing[0] + 1}: {cd[pushing[0]]:g} given, accepted is 0 or more")
    falling = np.flatnonzero(np.diff(angle) <= 0)
    if falling.size:
        raise ValueError(f"alpha_deg: row {falling[0] + 2}: angles must rise")
    if angle[0] > -5 or angle[-1] < 10:
        raise ValueError("alpha_deg: the table must reach from -5 to 10 degrees at least")
    wanted = np.arange(-360.0, 361.0) / 4
    if angle[0] <= -90 and angle[-1] >= 90:
        curves = np.interp(wanted, angle, cl), np.interp(wanted, angle, cd)
    else:
        ends = float(angle[0]), float(angle[-1])
        curves = extended(angle, cl, cd, wanted, ends, _GIVEN_BLEND)
    return Polar(np.radians(wanted), np.array([0.12]), np.array([6.0]), *(c[None, None] for c in curves))
