"""Comparisons with the standard atmosphere and worked arithmetic of propellers."""

from collections.abc import Iterator

import numpy as np

from quoting.propeller.aerodynamics import OperatingPoints, solve
from quoting.propeller.atmosphere import Air
from quoting.propeller.blade import Blade
from tests.validation.row import Basis, Kind, Row, within

INCH, FOOT = 0.0254, 0.3048
ICAO = "ICAO standard atmosphere on geopotential altitude (an open-source table of it)"
WORKED = "worked by hand from the definition"
# altitude m: temperature K, pressure Pa, density kg/m3, speed of sound m/s
_ATMOSPHERE = {
    0: (288.15, 101_325.0, 1.22500, 340.294),
    500: (284.90, 95_460.8, 1.16727, 338.369),
    1000: (281.65, 89_874.6, 1.11164, 336.434),
    2000: (275.15, 79_495.2, 1.00649, 332.529),
    3000: (268.65, 70_108.5, 0.90912, 328.578),
    5000: (255.65, 54_019.9, 0.73612, 320.529),
    11000: (216.65, 22_632.0, 0.36392, 295.069),
}
# diameter and pitch in: angle in degrees at 0.75 R and 0.70 R
_ANGLES = {
    (72, 42): (13.905, 14.856),
    (72, 44): (14.540, 15.530),
    (76, 50): (15.601, 16.655),
    (54, 24): (10.682, 11.426),
    (100, 84): (19.622, 20.905),
}
# diameter in, rpm, airspeed mph: tip speed ft/s, helical tip speed ft/s at sea level
_TIPS = {(72, 2300, 75): (722.6, 730.9), (72, 2750, 105): (863.9, 877.6), (54, 3200, 75): (754.0, 762.0)}


def rows() -> Iterator[Row]:
    for altitude, figures in _ATMOSPHERE.items():
        air = Air.at(altitude)
        mine = (air.temperature, air.pressure, air.density, air.sound)
        for name, value, published in zip(("T K", "p Pa", "rho kg/m3", "a m/s"), mine, figures, strict=True):
            where = f"{name} at {altitude} m"
            yield Row(
                where, value, published, *within(5e-5, published), ICAO, Basis.INDEPENDENT, Kind.HANDBOOK
            )
    yield from _angles()
    yield from _tips()


def _worked(quantity: str, ours: float, published: float, share: float) -> Row:
    return Row(
        quantity, ours, published, *within(share, published), WORKED, Basis.INDEPENDENT, Kind.ARITHMETIC
    )


def _angles() -> Iterator[Row]:
    for (diameter, pitch), figures in _ANGLES.items():
        blade = Blade.wooden(diameter=diameter * INCH, pitch=pitch * INCH)
        for station, published in zip((0.75, 0.70), figures, strict=True):
            ours = float(np.degrees(blade.angle_rad(station)))
            yield _worked(f"blade angle deg of {diameter} x {pitch} at {station} R", ours, published, 1e-4)


def _tips() -> Iterator[Row]:
    for (diameter, rpm, mph), (tip, helical) in _TIPS.items():
        blade = Blade.wooden(diameter=diameter * INCH, pitch=0.6 * diameter * INCH)
        points = OperatingPoints.at(mph * 0.44704, rpm / 60)
        solution = solve(blade, points)
        advance = float(solution.J[0])
        ours = mph * 0.44704 / advance * np.pi / FOOT
        yield _worked(f"tip speed ft/s, {diameter} in at {rpm} rpm", float(ours), tip, 2e-4)
        both = float(np.hypot(ours, mph * 0.44704 / FOOT))
        yield _worked(f"helical tip speed ft/s, {diameter} in at {rpm} rpm, {mph} mph", both, helical, 2e-4)
