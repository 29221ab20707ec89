"""The map of sizes: what each diameter and pitch would turn flat out in level flight, for a picture."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quoting.propeller.assessment import Assessment
from quoting.propeller.atmosphere import Air
from quoting.propeller.blade import Blade
from quoting.propeller.powerplant import Powerplant
from quoting.propeller.sizing import SizingChart

Array = NDArray[np.float64]

INCH = 0.0254
STEPS = 25
BREADTH = 0.14
"""Diameters shown, as a fraction to either side of the propeller's own."""
SPREAD = 0.35
"""Pitches shown, as a fraction to either side of the propeller's own."""
RATIOS = (0.30, 1.20)
"""Pitch over diameter that the sizing chart knows."""


@dataclass(frozen=True, slots=True, eq=False)
class SizeMap:
    """Over `diameter` (n,) and `pitch` (n,) in m: `speed` (n, n) rev/s at full throttle at the top speed.

    Rows are diameters. `rated` is the propeller's rated speed in rev/s, `tip_mach` (n, n) the helical tip Mach.
    """

    diameter: Array
    pitch: Array
    speed: Array
    tip_mach: Array
    rated: float
    top: float

    def pitch_at(self, share_of_rated: float) -> Array:
        """Pitch in m of each diameter that turns `share_of_rated` of the rated speed; NaN off the map."""
        wanted = share_of_rated * self.rated
        found = [
            np.interp(wanted, row[::-1], self.pitch[::-1], left=np.nan, right=np.nan) for row in self.speed
        ]
        return np.array(found)


def size_map(blade: Blade, powerplant: Powerplant, top: float, air: Air, wake: float = 0.0) -> SizeMap:
    """The map about a blade's own size, at `top` m/s; raises ValueError when the top speed is not positive."""
    if not top > 0:
        raise ValueError(f"top_speed: {top:g} m/s given, accepted is more than 0")
    own = blade.pitch if blade.pitch is not None else float(blade.pitch_m(0.75))
    diameter = blade.diameter * np.linspace(1 - BREADTH, 1 + BREADTH, STEPS)
    low, high = RATIOS[0] * blade.diameter, RATIOS[1] * blade.diameter
    pitch = np.linspace(np.clip((1 - SPREAD) * own, low, high), np.clip((1 + SPREAD) * own, low, high), STEPS)
    chart = SizingChart(blade, powerplant.speed, air, wake)
    speed = chart.full_throttle(powerplant, diameter[:, None], pitch[None, :], np.array(top))
    # the sweep bisects; a hair of unevenness must not turn the order of rpm over pitch
    speed = np.minimum.accumulate(speed, axis=1)
    tip = np.hypot(np.pi * speed * diameter[:, None], top)
    return SizeMap(diameter, pitch, speed, tip / air.sound, powerplant.speed, top)


def sizes_about(assessment: Assessment) -> SizeMap | None:
    """The map about an assessed propeller's own size; None without an engine or a top speed."""
    a, engine = assessment, assessment.specification.engine
    if a.performance is None or a.performance.top is None or engine is None or a.blade is None:
        return None
    flown, top = a.performance, a.performance.top.airspeed
    try:
        return size_map(a.blade, Powerplant.from_engine(engine), top, flown.air, flown.wake)
    except ValueError:
        return None
