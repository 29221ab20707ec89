"""Lettering: lengths, hands and bolt patterns in the words a drawing carries, inches or millimetres first."""

from math import gcd
from typing import Literal

from quoting.propeller.catalogue import Hand, HubPattern, Position

Units = Literal["in", "mm"]

INCH = 0.0254
THIN_SPACE = "\u202f"
NUMBERS = {2: "two", 3: "three", 4: "four"}


def grouped(value: float, digits: int = 0) -> str:
    """A number with narrow no-break spaces between thousands: 1 753."""
    return f"{value:,.{digits}f}".replace(",", THIN_SPACE)


def inches(length: float) -> str:
    """Metres as inches: the nearest 64th where it is within 0.001 in of one, else three decimals.

    >>> inches(0.111125), inches(1.8288), inches(0.12)
    ('4-3/8 in', '72 in', '4.724 in')
    """
    value = length / INCH
    parts = round(value * 64)
    if abs(parts / 64 - value) > 0.001:
        return f"{value:.3f}".rstrip("0").rstrip(".") + " in"
    whole, rest = divmod(parts, 64)
    if not rest:
        return f"{whole} in"
    divisor = gcd(rest, 64)
    fraction = f"{rest // divisor}/{64 // divisor}"
    return f"{whole}-{fraction} in" if whole else f"{fraction} in"


def millimetres(length: float) -> str:
    """Metres as millimetres: whole from a metre up, else one or two decimals as needed.

    >>> millimetres(0.111125)
    '111.13 mm'
    """
    value = length * 1000
    if value >= 300:
        return grouped(value) + " mm"
    return f"{value + 1e-9:.2f}".rstrip("0").rstrip(".") + " mm"


def length_words(length: float, units: Units) -> str:
    """The length in the shop's unit."""
    return inches(length) if units == "in" else millimetres(length)


def both_lengths(length: float, units: Units) -> str:
    """The shop's unit first, the other beside it in brackets."""
    first, second = (inches, millimetres) if units == "in" else (millimetres, inches)
    return f"{first(length)} ({second(length)})"


def hand_words(hand: Hand) -> str:
    """Which way it turns, in words that need no knowledge of hands."""
    way = "clockwise" if hand is Hand.RIGHT else "anticlockwise"
    return f"turns {way}, seen from its slipstream"


def bolt_words(hub: HubPattern, units: Units) -> str:
    """The bolt pattern in one line: 6 holes 25/64 in on a 4-3/8 in circle; says what is missing, or that there is none."""
    if hub.is_blank:
        return "bored at the centre only, no bolt holes"
    count = f"{hub.bolts} holes" if hub.bolts is not None else "number of holes not known"
    hole = length_words(hub.hole.value, units) if hub.hole else "of unknown size"
    circle = (
        f"on a {length_words(hub.circle.value, units)} circle"
        if hub.circle
        else "on a circle not yet measured"
    )
    return f"{count} {hole} {circle}"


def propeller_words(
    diameter: float, pitch: float | None, blades: int, hand: Hand, position: Position, units: Units
) -> str:
    """The propeller in one line: 72 x 44 in, two blades, right hand, tractor."""
    per = INCH if units == "in" else 0.001
    digits = 1 if units == "in" else 0

    def short(length: float) -> str:
        return f"{length / per:.{digits}f}".removesuffix(".0")

    size = short(diameter) if pitch is None else f"{short(diameter)} x {short(pitch)}"
    return f"{size} {units}, {NUMBERS.get(blades, str(blades))} blades, {hand.value} hand, {position.value}"
