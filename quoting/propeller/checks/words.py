"""Figures of a finding in the customer's units: inches, mph, psi, pounds; or millimetres, km/h, MPa, kilograms."""

INCH = 0.0254
MPH = 0.44704
PSI = 6894.757
POUND = 0.45359237
POUND_FORCE = 4.4482216
POUND_INCH = POUND_FORCE * INCH
POUND_FOOT = 12 * POUND_INCH
POUND_FOOT_SQUARED = POUND * (12 * INCH) ** 2


def bare_length(metres: float, units: str) -> str:
    """Inches to a tenth, below two inches to a hundredth; whole millimetres, below 30 to a tenth.

    >>> bare_length(1.8288, "in"), bare_length(0.0089, "in"), bare_length(1.8288, "mm"), bare_length(0.0089, "mm")
    ('72', '0.35', '1829', '8.9')
    """
    if units == "mm":
        value, digits = metres * 1000, 1 if abs(metres) < 0.03 else 0
    else:
        value, digits = metres / INCH, 2 if abs(metres) < 2 * INCH else 1
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def length(metres: float, units: str) -> str:
    """The length with its unit: 72 in, 1829 mm."""
    return f"{bare_length(metres, units)} {'mm' if units == 'mm' else 'in'}"


def speed(metres_a_second: float, units: str) -> str:
    """97 mph, 156 km/h."""
    if units == "mm":
        return f"{3.6 * metres_a_second:.0f} km/h"
    return f"{metres_a_second / MPH:.0f} mph"


def tip_speed(metres_a_second: float, units: str) -> str:
    """881 ft/s, 269 m/s."""
    if units == "mm":
        return f"{metres_a_second:.0f} m/s"
    return f"{metres_a_second / (12 * INCH):.0f} ft/s"


def bare_stress(pascals: float, units: str) -> str:
    """Three figures at most.

    >>> bare_stress(4.5e6, "mm"), bare_stress(4.5e6, "in"), bare_stress(64e6, "in")
    ('4.5', '653', '9280')
    """
    if units == "mm":
        value = pascals / 1e6
        return f"{value:.1f}" if value < 10 else f"{value:.0f}"
    return f"{float(f'{pascals / PSI:.3g}'):.0f}"


def stress(pascals: float, units: str) -> str:
    """653 psi, 4.5 MPa."""
    return f"{bare_stress(pascals, units)} {'MPa' if units == 'mm' else 'psi'}"


def bolt_torque(newton_metres: float, units: str) -> str:
    """208 lbf in, 23.5 N m."""
    if units == "mm":
        return f"{newton_metres:.1f} N m"
    return f"{newton_metres / POUND_INCH:.0f} lbf in"


def engine_torque(newton_metres: float, units: str) -> str:
    """148 lbf ft, 201 N m."""
    if units == "mm":
        return f"{newton_metres:.0f} N m"
    return f"{newton_metres / POUND_FOOT:.0f} lbf ft"


def pull(newtons: float, units: str) -> str:
    """3420 lbf, 15.2 kN."""
    if units == "mm":
        return f"{newtons / 1000:.1f} kN"
    return f"{float(f'{newtons / POUND_FORCE:.3g}'):.0f} lbf"


def mass(kilograms: float, units: str) -> str:
    """9.3 lb, 4.2 kg."""
    if units == "mm":
        return f"{kilograms:.1f} kg"
    return f"{kilograms / POUND:.1f} lb"


def bare_inertia(kilogram_square_metres: float, units: str) -> str:
    return f"{kilogram_square_metres / (1.0 if units == 'mm' else POUND_FOOT_SQUARED):.3g}"


def inertia(kilogram_square_metres: float, units: str) -> str:
    """6.2 lb ft2, 0.261 kg m2."""
    return f"{bare_inertia(kilogram_square_metres, units)} {'kg m2' if units == 'mm' else 'lb ft2'}"


def apart(value: float, limit: float, digits: int) -> str:
    """The value to so many digits, or to as many more, up to four, as keep it from reading like its limit.

    >>> apart(3.46, 3.5, 1), apart(2.9, 3.5, 1), apart(0.853, 0.85, 2)
    ('3.46', '2.9', '0.853')
    """
    while digits < 4 and float(f"{value:.{digits}f}") == float(f"{limit:.{digits}f}") and value != limit:
        digits += 1
    return f"{value:.{digits}f}"


def length_apart(metres: float, limit: float, units: str) -> str:
    """The length with its unit, to as many digits as keep it from reading like its limit: 8.98 in beside 9 in."""
    scale, digits, unit = (1000.0, 0, "mm") if units == "mm" else (1 / INCH, 1, "in")
    text = apart(metres * scale, limit * scale, digits)
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} {unit}"
