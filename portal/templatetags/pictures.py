"""Small pictures drawn from a catalogue row: a timber's swatch from its own colour and grain."""

from math import sin
from random import Random

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from quoting.propeller.catalogue import Timber

register = template.Library()

WIDTH, HEIGHT = 160, 56
INK = "#3a2410"


def wander(chance: Random, y: float, swing: float, length: float) -> str:
    """A line across the board that strays from y by about `swing`, in waves of `length`."""
    phase = chance.uniform(0, 6.3)
    drift = chance.uniform(-2, 2)
    points = (
        f"{x} {y + drift * x / WIDTH + swing * sin(phase + x / length):.1f}" for x in range(0, WIDTH + 8, 8)
    )
    return "M" + "L".join(points)


def arches(chance: Random) -> list[str]:
    """The pointed arches of a flat-sawn face, one inside the other."""
    tip, middle = chance.uniform(118, 150), chance.uniform(24, 32)
    return [
        f"M-4 {middle - 4 - 5.5 * k:.1f}Q{tip - 20 - 9 * k:.0f} {middle - 3 - 3.2 * k:.1f} {tip - 6 * k:.0f} {middle:.1f}"
        f"Q{tip - 20 - 9 * k:.0f} {middle + 3 + 3.2 * k:.1f} -4 {middle + 4 + 5.5 * k:.1f}"
        if k < 4
        else wander(chance, middle + (k - 5.5) * 13, 1.5, 40)
        for k in range(8)
    ]


def long_lines(chance: Random, count: int, swing: float, length: float) -> list[str]:
    return [wander(chance, chance.uniform(-2, HEIGHT + 2), swing, length) for _ in range(count)]


def pores(chance: Random, count: int) -> list[str]:
    """Short open pores along the grain."""
    places = ((chance.uniform(0, WIDTH), chance.uniform(1, HEIGHT - 1)) for _ in range(count))
    return [f"M{x:.1f} {y:.1f}h{chance.uniform(3, 9):.1f}" for x, y in places]


def strokes(grain: str, chance: Random) -> list[str]:
    """Path data of the grain as the catalogue names it: open, fine, wavy, plain, straight or ribbon."""
    match grain:
        case "open":
            return long_lines(chance, 9, 1.2, 50) + pores(chance, 60)
        case "wavy":
            return long_lines(chance, 20, 2.6, 9)
        case "plain":
            return arches(chance)
        case "straight":
            return long_lines(chance, 24, 0.3, 60)
        case "ribbon":
            return long_lines(chance, 10, 0.8, 30) + pores(chance, 45)
        case _:
            return long_lines(chance, 16, 0.9, 55)


@register.simple_tag
def swatch(timber: Timber) -> SafeString:
    """A board of the timber as one `svg` element; the same timber always gives the same board."""
    chance = Random(timber.code)  # noqa: S311 a picture, not a secret
    bands = ""
    if timber.grain == "ribbon":
        bands = "".join(
            f'<rect y="{y}" width="{WIDTH}" height="7" fill="{INK}" fill-opacity=".09"/>'
            for y in range(3, HEIGHT, 14)
        )
    lines = "".join(
        f'<path d="{d}" stroke-opacity="{chance.uniform(0.14, 0.42):.2f}" stroke-width="{chance.uniform(0.5, 1.3):.1f}"/>'
        for d in strokes(timber.grain, chance)
    )
    return format_html(
        '<svg class="swatch" viewBox="0 0 {} {}" preserveAspectRatio="xMidYMid slice" aria-hidden="true">'
        '<rect width="{}" height="{}" fill="{}"/>{}<g fill="none" stroke="{}">{}</g></svg>',
        *(WIDTH, HEIGHT, WIDTH, HEIGHT, timber.colour),
        mark_safe(bands),  # noqa: S308 our own numbers
        INK,
        mark_safe(lines),  # noqa: S308 our own numbers
    )
