"""Figures as people write them: 54", 4-3/8 in, 6' 2", 1 372 mm, 50 hp, 2 300 rpm; and lengths turned into the other unit."""

import re
from fractions import Fraction

from quoting.services.units import INCH, UNITS

LONGEST = 24
_SPACES = str.maketrans(dict.fromkeys("\u00a0\u2007\u2009\u202f", " "))
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_NUMBER = re.compile(
    r"(?:(?P<whole>[0-9]{1,3})[ -])?(?P<over>[0-9]{1,3})/(?P<under>[1-9][0-9]{0,2})"
    r"|(?P<grouped>[0-9]{1,3}(?: [0-9]{3})+(?:[.,][0-9]{1,9})?)"
    r"|(?P<plain>[0-9]{1,9}(?:[.,][0-9]{1,9})?)"
)
_FEET = re.compile(r"([0-9]{1,2}) ?(?:'|′|’|ft|feet|foot) ?(?=[0-9])", re.IGNORECASE)

_WORDS: dict[str, dict[str, tuple[str, ...]]] = {
    "length": {
        "in": ("in", "in.", "inch", "inches", '"', "″", "”", "''"),
        "mm": ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
        "cm": ("cm",),
        "m": ("m", "metre", "metres", "meter", "meters"),
        "ft": ("ft", "ft.", "foot", "feet", "'", "′", "’"),
    },
    "speed": {
        "mph": ("mph",),
        "kt": ("kt", "kts", "kn", "knot", "knots"),
        "km/h": ("km/h", "kmh", "kph"),
        "m/s": ("m/s",),
    },
    "power": {"hp": ("hp", "bhp"), "kW": ("kw",), "PS": ("ps",), "W": ("w",)},
    "rotation": {"rpm": ("rpm", "rev/min", "r/min", "1/min", "/min")},
    "fraction": {"%": ("%", "percent")},
    "temperature": {"degC": ("°c", "c", "degc")},
}
"""By quantity and unit: the ways it is written after a number, without spaces and in small letters."""


def whole_of(text: str) -> int | None:
    """A whole number of at most nine plain digits; None for anything else.

    >>> whole_of("45"), whole_of("-1"), whole_of("\u0664\u0665"), whole_of("")
    (45, None, None, None)
    """
    return int(text) if len(text) <= 9 and text.isascii() and text.isdigit() else None


def figure_of(text: str, quantity: str, unit: str, also: tuple[str, ...] = ()) -> tuple[Fraction, str] | None:
    """The number and the unit it is in: the one written after it, else `unit`. None for anything else.

    `also` are words that may follow and say no more than `unit` does. Fractions are for inches and feet only.

    >>> figure_of("4-3/8", "length", "in"), figure_of("1 372 mm", "length", "in")
    ((Fraction(35, 8), 'in'), (Fraction(1372, 1), 'mm'))
    >>> figure_of('6\\' 2"', "length", "mm"), figure_of("4-3/8", "length", "mm")
    ((Fraction(74, 1), 'in'), None)
    """
    text = _plain(text)
    if len(text) > LONGEST:
        return None
    if quantity == "length" and (feet := _FEET.match(text)):
        inches = figure_of(text[feet.end() :], quantity, "in")
        return (12 * int(feet[1]) + inches[0], "in") if inches and inches[1] == "in" else None
    found = _NUMBER.match(text)
    if found is None:
        return None
    written = _unit_of(text[found.end() :], quantity, unit, also)
    if written is None or (found["under"] and written not in ("in", "ft")):
        return None
    return _value(found), written


def in_other_unit(text: str, unit: str, to: str) -> str:
    """A length typed in `unit` as it is typed in `to`; what carries its own unit, or is no length, stays.

    >>> in_other_unit("4-3/8", "in", "mm"), in_other_unit("111.13", "mm", "in"), in_other_unit("54 in", "in", "mm")
    ('111.13', '4-3/8', '54 in')
    """
    if (
        unit == to
        or not _NUMBER.fullmatch(_plain(text))
        or (found := figure_of(text, "length", unit)) is None
    ):
        return text
    metres = float(found[0]) * UNITS["length"][unit]
    return _inches(metres / INCH) if to == "in" else f"{metres * 1000 + 1e-6:.2f}".rstrip("0").rstrip(".")


def _plain(text: str) -> str:
    text = text.translate(_SPACES)
    for sign, fraction in _VULGAR.items():
        text = re.sub(rf"(?<=[0-9]){sign}", f" {fraction}", text).replace(sign, fraction)
    return text.strip()


def _unit_of(rest: str, quantity: str, unit: str, also: tuple[str, ...]) -> str | None:
    word = rest.replace(" ", "").casefold()
    if not word or word in also:
        return unit
    return next((name for name, ways in _WORDS.get(quantity, {}).items() if word in ways), None)


def _value(found: re.Match[str]) -> Fraction:
    if found["under"]:
        return int(found["whole"] or 0) + Fraction(int(found["over"]), int(found["under"]))
    return Fraction((found["grouped"] or found["plain"]).replace(" ", "").replace(",", "."))


def _inches(value: float) -> str:
    """A sixty-fourth of an inch where the length is one, else decimals to the hundredth of a millimetre."""
    parts = Fraction(round(value * 64), 64)
    if abs(float(parts) - value) > 0.0003:
        return f"{value:.4f}".rstrip("0").rstrip(".")
    whole, rest = divmod(parts, 1)
    return f"{whole}" if not rest else f"{whole}-{rest}" if whole else f"{rest}"
