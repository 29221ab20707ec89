"""Units at the edges: what a figure may be entered in, and the factor to SI.

Factors are definitions unless the comment says otherwise; dimensionless fields use the unit "1".
"""

INCH = 0.0254
FOOT = 0.3048
MILE_AN_HOUR = 0.44704
KNOT = 1852 / 3600
HORSEPOWER = 745.6998715822702  # 550 ft lbf/s
METRIC_HORSEPOWER = 735.49875  # 75 kgf m/s

UNITS: dict[str, dict[str, float]] = {
    "length": {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": INCH, "ft": FOOT},
    "speed": {"m/s": 1.0, "km/h": 1 / 3.6, "mph": MILE_AN_HOUR, "kt": KNOT},
    "power": {"W": 1.0, "kW": 1000.0, "hp": HORSEPOWER, "PS": METRIC_HORSEPOWER},
    "rotation": {"rev/s": 1.0, "rpm": 1 / 60},
    "stress": {"Pa": 1.0, "kPa": 1e3, "MPa": 1e6, "GPa": 1e9},
    "density": {"kg/m3": 1.0},
    "inertia": {"kg m2": 1.0, "kg cm2": 1e-4},
    "unbalance": {"kg m": 1.0, "g mm": 1e-6},
    "torque": {"N m": 1.0},
    "fraction": {"1": 1.0, "%": 0.01},
    "per percent": {"1/%": 1.0},
    "number": {"1": 1.0},
    "hours": {"h": 1.0},
    "temperature": {"degC": 1.0},
    "area density": {"kg/m2": 1.0, "g/m2": 0.001},
    "spread": {"m2/l": 1.0},
    "line density": {"kg/m": 1.0, "g/m": 0.001},
}
"""By quantity: the units a figure may be entered in and what one of each is in the first, SI, unit."""


def to_si(value: float, unit: str, quantity: str) -> float:
    """The value in the quantity's SI unit; raises KeyError for a unit the quantity is not entered in.

    The result keeps twelve significant digits, so that 4-3/4 in is 0.12065 m and not a hair more.

    >>> to_si(4.75, "in", "length"), to_si(120, "mm", "length")
    (0.12065, 0.12)
    """
    return float(f"{value * UNITS[quantity][unit]:.12g}")
