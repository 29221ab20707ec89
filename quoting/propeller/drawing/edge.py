"""The edge view: the propeller from the side with its glue lines, boss dimensions and middle plane."""

import numpy as np

from quoting.propeller.drawing.lettering import Units, length_words
from quoting.propeller.drawing.svg import (
    CENTRE,
    HAIR,
    HIDDEN,
    OUTLINE,
    THIN,
    Point,
    dimension,
    line,
    path,
    rectangle,
    text,
)
from quoting.propeller.loft import Loft
from quoting.propeller.specification import Hardware

NO_HARDWARE = Hardware()


def edge_parts(
    surface: Loft,
    boss_thickness: float,
    centre: Point,
    scale: float,
    *,
    planes: tuple[float, ...] = (),
    both_sides: bool = True,
    units: Units = "in",
    hardware: Hardware = NO_HARDWARE,
) -> list[str]:
    """The side view about `centre` at `scale` drawing units per m, front upward.

    `planes` are the z in m of glue lines and outer faces; `both_sides` draws the second blade too. Face plate, spacer and
    the spinner's base from `hardware` are drawn broken: they are bolted on, not carved.
    """
    x, y = centre
    boss = surface.boss_radius
    front = _beyond_boss(surface, surface.front)
    back = _beyond_boss(surface, surface.back)
    outline = np.concatenate([front, back[::-1]])
    tip = float(surface.r[-1])
    half = boss_thickness / 2
    parts = [
        line(
            (x - (tip * scale + 14 if both_sides else boss * scale + 10), y),
            (x + tip * scale + 14, y),
            CENTRE,
        ),
        line((x, y - half * scale - 14), (x, y + half * scale + 14), CENTRE),
    ]
    for side in (1, -1) if both_sides else (1,):
        parts.append(path([(x + side * r * scale, y - z * scale) for r, z in outline], OUTLINE))
        for plane in planes[1:-1]:
            for first, last in _runs(surface, plane):
                level = y - plane * scale
                parts.append(line((x + side * first * scale, level), (x + side * last * scale, level), HAIR))
    parts.append(rectangle(x - boss * scale, y - half * scale, 2 * boss * scale, 2 * half * scale, OUTLINE))
    parts += [
        line((x - boss * scale, y - plane * scale), (x + boss * scale, y - plane * scale), HAIR)
        for plane in planes[1:-1]
        if abs(plane) < half
    ]
    parts += _bolted_on(hardware, boss, half, centre, scale)
    lower = (x - boss * scale, y + half * scale)
    parts.append(
        dimension(lower, (x + boss * scale, y + half * scale), length_words(2 * boss, units), offset=30)
    )
    above = max(half, float(surface.front.max())) * scale
    parts.append(_thickness(x - boss * scale, y, half * scale, above, length_words(boss_thickness, units)))
    return parts


def _bolted_on(hardware: Hardware, boss: float, half: float, centre: Point, scale: float) -> list[str]:
    """Face plate ahead of the boss, spacer behind it, and the base of the spinner between plate and boss."""
    x, y = centre
    left, wide = x - boss * scale, 2 * boss * scale
    plate, spacer = hardware.face_plate_thickness * scale, hardware.spacer_thickness * scale
    parts = []
    if plate:
        parts.append(rectangle(left, y - half * scale - plate, wide, plate, HIDDEN))
    if spacer:
        parts.append(rectangle(left, y + half * scale, wide, spacer, HIDDEN))
    if hardware.spinner_diameter:
        out, level = hardware.spinner_diameter / 2 * scale, y - half * scale
        parts.append(line((x - out, level), (x + out, level), HIDDEN))
        parts += [
            line((x + side * out, level), (x + side * out * 0.97, level - 10), HIDDEN) for side in (1, -1)
        ]
    return parts


def _beyond_boss(surface: Loft, z: np.ndarray) -> np.ndarray:
    beyond = surface.r > surface.boss_radius
    start = float(np.interp(surface.boss_radius, surface.r, z))
    return np.concatenate([[[surface.boss_radius, start]], np.stack([surface.r[beyond], z[beyond]], axis=-1)])


def _runs(surface: Loft, plane: float) -> list[tuple[float, float]]:
    """Stretches of the radius in m where the plane z lies in the wood."""
    r = np.linspace(surface.boss_radius, surface.r[-1], 300)
    inside = (np.interp(r, surface.r, surface.front) > plane) & (
        np.interp(r, surface.r, surface.back) < plane
    )
    edges = np.flatnonzero(np.diff(np.concatenate([[False], inside, [False]]).astype(int)))
    return [(float(r[a]), float(r[b - 1])) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _thickness(x: float, y: float, half: float, above: float, words: str) -> str:
    """The boss's thickness, dimensioned on the left; its words stand over the blade, `above` the middle plane."""
    return (
        dimension((x, y + half), (x, y - half), "", offset=-22, start=3)
        + line((x - 22, y - half), (x - 22, y - above - 3), THIN)
        + text((x - 26, y - above - 6), words, anchor="end")
    )
