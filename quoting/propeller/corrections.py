"""What is laid over bare blade-element theory: one set of constants for every blade, and what they were fitted to."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Corrections:
    """What is laid over bare theory. One set of constants for every blade: `WOODEN`.

    `lift` scales the polars' lift and `lift_drag` adds lift_drag cl^2 to their drag: both fitted. `decambering` is
    k in the lifting-surface correction: flow curving along the chord takes k (c/R) (phi - phi0) off the angle of
    attack, phi0 being the undisturbed inflow angle (a wing as long as the blade by Helmbold's formula gives
    k = 1.2), and k / root(1 - M^2) in compressible flow, where a blade acts as one so much wider. `blockage` is the
    share of the blades' own thickness in the stream: flow passing between them is quickened by
    B t / (2 pi r sin beta), by continuity 1. `rotation` lets rotating roots hold their lift (Snel), `compressibility`
    applies Prandtl-Glauert and a drag rise. `reynolds` freezes the Reynolds number, None takes each station's own.
    """

    lift: float = 1.0
    lift_drag: float = 0.0
    decambering: float = 0.0
    blockage: float = 0.0
    rotation: bool = True
    compressibility: bool = True
    reynolds: float | None = None


BARE = Corrections(rotation=False, compressibility=False)
WOODEN = Corrections(lift=0.966, lift_drag=0.012, decambering=1.2, blockage=1.0)
"""All constants fitted to measurements, here and in the four names beside it, come from two blades only: NACA TR 640,
propeller 5868-9, 15 to 30 degrees. Lift 0.966, lift_drag 0.012 and `BODY_DRAG` from the unstalled points; the onset of
stall (`polars.STALL_EARLY`, `polars.STALL_BLEND`) from the points below them at 25 and 30 degrees, standing included.
`STANDING_THRUST` lies between two sources named at it. Three blades, small model propellers and certified
combinations are independent of all of them."""
BODY_DRAG = 0.016
"""Share of the thrust that the slipstream takes back as drag of the body behind it (Glauert's form:
1.558 C_D S / D^2)."""
STANDING_THRUST = 0.95
"""Standing thrust as quoted over the solver's own, which stands 1 to 16 % over Hamilton Standard's charts (NASA
CR-114289, pitch 0.5 to 0.9 of the diameter) and 6 and 15 % under two model blades at Reynolds numbers of 20 000."""
_SLOW = 0.6
"""Advance ratio over pitch ratio below which thrust comes to be stated too high, most of all standing: so say the charts
and, at 20 degrees and more, the wind tunnel."""


def slowness(advance: Array, ratio: Array) -> Array:
    """How far a flight at `advance` = V/(nD) with pitch over diameter `ratio` counts as standing: 0 in flight, 1 at rest."""
    return np.asarray(np.minimum(np.maximum(1 - advance / (_SLOW * ratio), 0), 1))


def net_thrust(advance: Array, ratio: Array) -> Array:
    """Thrust as quoted over the solver's own: `STANDING_THRUST` at rest, the body's share taken off in flight."""
    flying = 1 - BODY_DRAG
    return np.asarray(flying + (STANDING_THRUST - flying) * slowness(advance, ratio))
