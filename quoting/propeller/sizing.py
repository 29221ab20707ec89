"""Rules of thumb for a size when the customer gives none and no performance can be computed."""

from quoting.propeller.catalogue import Gear

INCH = 0.0254
MPH = 0.44704
HORSEPOWER = 745.69987

DIAMETER_CONSTANT = 3870.0
"""K of D = K (hp / (rpm^2 mph))^(1/4) in inches: constant power coefficient, fitted here to certified combinations."""
PITCH_FRACTION = 0.96
"""Pitch over the advance per revolution at top speed and rated rpm, fitted likewise (0.87 to 1.05)."""
GROUND_CLEARANCE = {Gear.NOSE_WHEEL: 7 * INCH, Gear.TAIL_WHEEL: 9 * INCH, Gear.FLOATS: 18 * INCH}
"""14 CFR 23.925 as it stood before 2017; 25.925 keeps the same numbers."""


def diameter_by_rule(power: float, speed: float, top: float) -> float:
    """Diameter in m from rated power (W), propeller speed (rev/s) and top airspeed (m/s).

    >>> round(diameter_by_rule(65 * 745.7, 2300 / 60, 100 * 0.44704) / 0.0254)
    72
    """
    horsepower, rpm, mph = power / HORSEPOWER, speed * 60, top / MPH
    return float(DIAMETER_CONSTANT * (horsepower / (rpm**2 * mph)) ** 0.25 * INCH)


def pitch_by_rule(speed: float, top: float) -> float:
    """Pitch in m on the flat face for propeller speed (rev/s) and top airspeed (m/s)."""
    return PITCH_FRACTION * top / speed


def clearance_diameter(hub_height: float, gear: Gear) -> float:
    """Largest diameter in m that leaves the customary ground clearance: D = 2 (h - clearance).

    >>> [round(clearance_diameter(46 * INCH, gear) / INCH) for gear in (Gear.TAIL_WHEEL, Gear.NOSE_WHEEL)]
    [74, 78]
    """
    return 2 * (hub_height - GROUND_CLEARANCE[gear])
