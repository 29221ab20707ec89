"""True-size sheets: drill and station templates cut into paper tiles, each with a bar to measure before use.

A sheet's `svg` is as large as its paper and counts in millimetres.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, degrees, sin

from quoting.propeller.drawing.cells import broken
from quoting.propeller.drawing.lettering import Units, both_lengths, length_words, millimetres
from quoting.propeller.drawing.svg import Point, arrow_head, circle, line, path, picture, rectangle, text
from quoting.propeller.template import (
    FOOT,
    MARGIN,
    PAPERS,
    DrillTemplate,
    StationTemplate,
    Tile,
    tiles,
)

MM = 1000.0
FINE = 'fill="none" stroke="currentColor" stroke-width=".18"'
BROAD = 'fill="none" stroke="currentColor" stroke-width=".35"'
DOTTED = FINE + ' stroke-dasharray="3 .8 .5 .8"'
DASHED = FINE + ' stroke-dasharray="1.6 1"'
LETTERS = 3.0
CAUTION = (
    "Computed; no approval. The approved data of engine and airframe, local rules and licensed practice go before "
    "this sheet."
)
NAME_WIDE = 42
"""Letters of a line of the propeller's name, clear of the bar."""
ASIDE = 3.0
"""Distance in mm of a hole's number from the line through its centre and the shaft."""
ROOM = 0.016
"""Clear height in m over and under a section, for its words."""
PLANE_BELOW = 0.0085
"""How far in m the line of the plane of rotation may reach under a section, to stay clear of its words."""


@dataclass(frozen=True, slots=True)
class SheetPicture:
    """One sheet of paper: its picture, and the same in words for a reader who cannot see it."""

    svg: str
    words: str


def _bar(x: float, y: float) -> list[str]:
    """A bar of 100 mm with a tick each centimetre, its ends exactly 100 mm apart, and one of 4 in beneath."""
    parts = [line((x, y), (x + 100, y), BROAD)]
    for k in range(11):
        parts.append(line((x + 10 * k, y), (x + 10 * k, y - (4 if k % 5 == 0 else 2.2)), FINE))
    parts.append(line((x, y + 5), (x + 101.6, y + 5), BROAD))
    for k in range(5):
        parts.append(line((x + 25.4 * k, y + 5), (x + 25.4 * k, y + 8), FINE))
    parts += [
        text((x + 103, y + 1), "100 mm", size=LETTERS),
        text((x + 104.6, y + 6.5), "4 in", size=LETTERS),
    ]
    return parts


def _frame(tile: Tile) -> list[str]:
    left = top = MARGIN * MM
    width, height = tile.width * MM, tile.height * MM
    parts = [rectangle(left, top, width, height, 'fill="none" stroke="currentColor" stroke-width=".12"')]
    if tile.rows * tile.columns > 1:
        # crosses at the same points of the drawing on either side of an overlap
        half = 5.0
        for x in (left + half, left + width - half):
            for y in (top + half, top + height - half):
                parts += [line((x - 3, y), (x + 3, y), FINE), line((x, y - 3), (x, y + 3), FINE)]
    return parts


def _sheet(parts: Sequence[str], tile: Tile, paper: str, words: Sequence[str], title: str) -> SheetPicture:
    width, height = (MM * edge for edge in PAPERS[paper])
    foot = height - (MARGIN + FOOT) * MM + 9
    number = tile.row * tile.columns + tile.column + 1
    count = tile.rows * tile.columns
    place = f"sheet {number} of {count}"
    if count > 1:
        place += f", row {tile.row + 1} of {tile.rows}, column {tile.column + 1} of {tile.columns}"
    lines = [*words, place]
    notes = [
        text((width - MARGIN * MM, foot + 16.6 - 3.7 * k), note, size=2.8, anchor="end")
        for k, note in enumerate(reversed(lines))
    ]
    warning = text(
        (MARGIN * MM, foot + 17),
        "Print at 100 %. Measure the bar: if it is not 100 mm, do not use this sheet.",
        size=LETTERS,
        strong=True,
    )
    caution = text((MARGIN * MM, foot + 21.4), CAUTION, size=2.7)
    window = (
        f'<clipPath id="window"><rect x="{MARGIN * MM:g}" y="{MARGIN * MM:g}" '
        f'width="{tile.width * MM:.3f}" height="{tile.height * MM:.3f}"/></clipPath>'
    )
    body = [window, f'<g clip-path="url(#window)">{"".join(parts)}</g>', *_frame(tile)]
    description = f"{title}; {'; '.join(lines)}; at true size with a bar of 100 mm to measure"
    svg = picture(
        [*body, *_bar(MARGIN * MM, foot), *notes, warning, caution],
        width,
        height,
        title=title,
        description=description,
        name="sheet",
        size_mm=(width, height),
    )
    return SheetPicture(svg, description)


def drill_sheets(
    template: DrillTemplate, *, paper: str = "a4", units: Units = "in", name: str = "", measure: str = ""
) -> tuple[SheetPicture, ...]:
    """The drill template on as many sheets as it needs.

    `name` says which propeller it belongs to; `measure` is a sentence on figures to measure before drilling.
    """
    side = template.boss * 1.12
    count = len(template.holes)
    words = [
        *broken(name, NAME_WIDE),
        f"{count} holes {length_words(template.hole, units)} on {both_lengths(template.circle, units)}",
        f"neighbouring holes {template.neighbour_distance * MM:.2f} mm apart, centre to centre",
        "Seen from the front of the boss:",
        "lay it on the front face, this side up.",
    ]
    pages = []
    for tile in tiles(side, side, paper):
        origin = (MARGIN * MM + (side / 2 - tile.left) * MM, MARGIN * MM + (side / 2 - tile.top) * MM)
        parts = _drill_parts(template, origin, side, units)
        for k, piece in enumerate(broken(measure, 100) if measure else ()):
            at = (MARGIN * MM + 2, MARGIN * MM + 4.5 + 4.2 * k)
            parts.append(text(at, piece, size=LETTERS, strong=True))
        pages.append(_sheet(parts, tile, paper, [word for word in words if word], "Drill template"))
    return tuple(pages)


def _drill_parts(template: DrillTemplate, origin: Point, side: float, units: Units) -> list[str]:
    x, y = origin
    parts = [
        circle(origin, template.boss / 2 * MM, BROAD),
        circle(origin, template.circle / 2 * MM, DOTTED),
        line((x - side / 2 * MM, y), (x + side / 2 * MM, y), DOTTED),
        line((x, y - side / 2 * MM), (x, y + side / 2 * MM), DOTTED),
    ]
    if template.bore is not None:
        parts.append(circle(origin, template.bore / 2 * MM, BROAD))
        label = f"bore {length_words(template.bore, units)}"
        parts.append(text((x + 1.5, y + 5), label, size=LETTERS))
    for k, (across, along) in enumerate(template.holes):
        at = (x + float(across) * MM, y - float(along) * MM)
        inner = 1 - (max(template.hole, template.lug or 0.0) / 2 + 0.003) * 2 / template.circle
        # a little to the side, clear of the centre lines
        aside = (
            ASIDE * (at[1] - y) / (500 * template.circle),
            -ASIDE * (at[0] - x) / (500 * template.circle),
        )
        cross = max(0.7 * template.hole * MM, 5.0)
        parts += [
            circle(at, template.hole / 2 * MM, BROAD),
            line((at[0] - cross, at[1]), (at[0] + cross, at[1]), FINE),
            line((at[0], at[1] - cross), (at[0], at[1] + cross), FINE),
            text(
                (x + inner * (at[0] - x) + aside[0], y + inner * (at[1] - y) + aside[1] + 1.1),
                str(k + 1),
                size=LETTERS,
                anchor="middle",
            ),
        ]
        if template.lug is not None:
            parts.append(circle(at, template.lug / 2 * MM, DASHED))
    for k, angle in enumerate(template.blade_angles):
        start, end = 0.30 * template.boss * MM, 0.54 * template.boss * MM
        way = (sin(angle), -cos(angle))
        tip = (x + end * way[0], y + end * way[1])
        parts += [
            line((x + start * way[0], y + start * way[1]), tip, BROAD),
            arrow_head(tip, degrees(angle) - 90, 3.5),
            text(
                (
                    tip[0] + (-2.5 if way[0] < -0.1 else 2.5) + 2 * way[0],
                    tip[1] + 1.5 + 2.5 * max(way[1], 0.0),
                ),
                f"blade {k + 1}",
                size=LETTERS,
                anchor="end" if way[0] < -0.1 else "start",
            ),
        ]
    return parts


def station_sheets(
    templates: Sequence[StationTemplate], *, paper: str = "a4", units: Units = "in", name: str = ""
) -> tuple[SheetPicture, ...]:
    """The sections one under another on their flat faces, on as many sheets as they need."""
    width = max(t.chord for t in templates) * 1.05
    words = [
        *broken(name, NAME_WIDE),
        "Sections on their flat faces;",
        "the chain line is the plane of rotation.",
    ]
    groups = _filled(templates, PAPERS[paper][1] - 2 * MARGIN - FOOT)
    pages = []
    for k, group in enumerate(groups):
        said = [word for word in words if word] + (
            [f"part {k + 1} of {len(groups)}"] if len(groups) > 1 else []
        )
        height = sum(t.thickness + 2 * ROOM for t in group)
        for tile in tiles(width, height, paper):
            parts: list[str] = []
            down = 0.0
            for template in group:
                down += template.thickness + 2 * ROOM
                axis = 0.5 * (width - template.chord) - float(template.outline[:, 0].min())
                at = (MARGIN * MM + (axis - tile.left) * MM, MARGIN * MM + (down - ROOM - tile.top) * MM)
                parts += _station_parts(template, at, units)
            pages.append(_sheet(parts, tile, paper, said, "Station templates"))
    return tuple(pages)


def _filled(templates: Sequence[StationTemplate], height: float) -> list[list[StationTemplate]]:
    """The sections in groups that each fit one under another into `height` m, none cut in two."""
    groups: list[list[StationTemplate]] = [[]]
    used = 0.0
    for template in templates:
        needed = template.thickness + 2 * ROOM
        if groups[-1] and used + needed > height:
            groups.append([])
            used = 0.0
        groups[-1].append(template)
        used += needed
    return groups


def _station_parts(template: StationTemplate, at: Point, units: Units) -> list[str]:
    x, y = at
    outline = [(x + float(u) * MM, y - float(v) * MM) for u, v in template.outline]
    below = 2 * PLANE_BELOW / max(sin(template.angle), 0.01)
    (x0, y0), (x1, y1) = template.rotation_plane(min(0.3 * template.chord, below))
    plane = ((x + x0 * MM, y - y0 * MM), (x + x1 * MM, y - y1 * MM))
    label = (
        f"{length_words(template.r, units)} from the centre: chord {_fine(template.chord, units)}, "
        f"thickness {_fine(template.thickness, units)}, {degrees(template.angle):.1f}° to the flat face"
    )
    left = min(px for px, _ in outline)
    return [
        path(outline, BROAD, closed=True),
        line(*plane, DOTTED),
        line((x - 3, y), (x + 3, y), FINE),
        line((x, y - 3), (x, y + 3), FINE),
        text((left, y + 12.5), label, size=LETTERS),
    ]


def _fine(length: float, units: Units) -> str:
    return f"{length / 0.0254:.2f} in" if units == "in" else millimetres(round(length, 4))
