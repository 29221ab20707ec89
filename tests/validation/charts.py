"""Comparisons with a published chart method: thrust for the power taken, standing and flying, two to four blades."""

from collections.abc import Iterator

import numpy as np

from quoting.propeller.aerodynamics import STANDING_THRUST, OperatingPoints, solve
from quoting.propeller.blade import Blade
from tests.validation.row import Basis, Kind, Row, table, within

CHARTS = "Hamilton Standard's charts, NASA CR-114289 (1972)"
_DIAMETER, _SPEED = 1.8288, 2300 / 60
_STANDING, _FLYING = 0.11, 0.08
# pitch over diameter: advance ratios at which a propeller of that pitch climbs and cruises
_FLOWN = {0.5: (0.2,), 0.6: (0.4,), 0.75: (0.4, 0.6), 0.9: (0.6, 0.8)}


def charted_thrust(blades: int, advance: float, power: float) -> float:
    """Thrust coefficient of the charts, interpolated over the power coefficient."""
    rows = [
        (float(r["power_coefficient"]), float(r["thrust_coefficient"]))
        for r in table("charts.csv")
        if int(r["blades"]) == blades and abs(float(r["advance_ratio"]) - advance) < 1e-6
    ]
    powers, thrusts = zip(*rows, strict=True)
    if not powers[0] <= power <= powers[-1]:
        raise ValueError(f"C_P {power:.3f} is outside the table for {blades} blades")
    return float(np.interp(power, powers, thrusts))


def rows() -> Iterator[Row]:
    for blades in (2, 3, 4):
        for ratio, advances in _FLOWN.items():
            blade = Blade.wooden(diameter=_DIAMETER, pitch=ratio * _DIAMETER, blades=blades)
            for advance in (0.0, *advances):
                yield _row(blade, ratio, advance)


def _row(blade: Blade, ratio: float, advance: float) -> Row:
    solution = solve(blade, OperatingPoints.at(advance * _SPEED * _DIAMETER, _SPEED))
    standing = advance == 0
    charted = charted_thrust(blade.blades, advance, float(solution.C_P[0]))
    return Row(
        f"C_T {'standing as quoted' if standing else f'at J {advance:.1f}'}, {blade.blades} blades, P/D {ratio}",
        float(solution.C_T[0]) * (STANDING_THRUST if standing else 1.0),
        charted,
        *within(_STANDING if standing else _FLYING, charted),
        CHARTS,
        Basis.FITTED if standing else Basis.INDEPENDENT,
        Kind.SOLVER,
        "at our own C_P; blade of the same activity factor and camber",
    )
