"""The dimensioned drawing sheet: plan, edge view, sections, hub face, table of stations and title block on A3."""

from dataclasses import dataclass
from math import pi

from quoting.propeller.assessment import Assessment
from quoting.propeller.catalogue import Hand
from quoting.propeller.drawing.cells import TitleBlock, notes, table, title_block, use_cell
from quoting.propeller.drawing.edge import edge_parts
from quoting.propeller.drawing.hubface import hub_parts
from quoting.propeller.drawing.lettering import (
    Units,
    bolt_words,
    both_lengths,
    hand_words,
    length_words,
    propeller_words,
)
from quoting.propeller.drawing.plan import Placing, blade_parts, directions, plan_parts
from quoting.propeller.drawing.svg import (
    CENTRE,
    HAIR,
    OUTLINE,
    THIN,
    arc_arrow,
    arrow_head,
    circle,
    dimension,
    line,
    path,
    picture,
    rectangle,
    text,
)
from quoting.propeller.drawing.truesize import SheetPicture
from quoting.propeller.drawing.views import hub_words
from quoting.propeller.loft import Loft
from quoting.propeller.specification import Specification, Use
from quoting.propeller.stations import Station, station_table

WIDTH, HEIGHT = 1190.55, 841.89
"""A3 on its side in points."""
POINTS_PER_M = 1000 / 25.4 * 72
SCALES = (2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20)
NOTE_WIDTH = 54
LEFT, RIGHT, TOP, FOOT = 30.0, 1160.5, 30.0, 812.0
CAUTION = (
    "Computed for this order; no approval. The approved data of engine and airframe, local rules and licensed "
    "practice go before this sheet."
)


class NothingToDrawError(ValueError):
    """The assessment has no geometry; its findings say why."""


@dataclass(frozen=True, slots=True)
class _Parts:
    """What the views share."""

    specification: Specification
    surface: Loft
    boss_thickness: float
    stations: tuple[Station, ...]
    planes: tuple[float, ...]
    sense: float
    units: Units


def drawing_sheet(assessment: Assessment, block: TitleBlock, units: Units = "in") -> SheetPicture:
    """The whole sheet of a resolved assessment, A3 on its side; also readable on a wide screen.

    Raises NothingToDrawError when the assessment stopped before there was geometry.
    """
    a = assessment
    if a.blade is None or a.surface is None or a.boss is None:
        raise NothingToDrawError("no drawing: " + "; ".join(finding.message for finding in a.findings))
    shared = _Parts(
        specification=a.specification,
        surface=a.surface,
        boss_thickness=a.boss.thickness,
        stations=station_table(a.blade, a.boss.diameter, a.boss.thickness, units),
        planes=a.lamination.planes if a.lamination else (),
        sense=1.0 if a.specification.hand is Hand.RIGHT else -1.0,
        units=units,
    )
    scale_name, views = _views(shared)
    words = propeller_words(
        a.blade.diameter,
        a.blade.pitch,
        a.blade.blades,
        a.specification.hand,
        a.specification.position,
        units,
    )
    parts = [rectangle(LEFT - 8, TOP - 8, RIGHT - LEFT + 16, FOOT - TOP + 16, HAIR), *views]
    parts += _section_row(shared)
    hub, labels = _hub_view(shared)
    parts += hub + _notes(assessment, units, labels)
    parts += _station_rows(shared)
    parts += title_block(
        (
            ("propeller", words, 3.2),
            ("drawn by", block.shop, 1.6),
            ("number", block.number, 1.2),
            ("revision", block.revision, 0.6),
            ("state", block.state, 1.0),
            ("scale on A3", scale_name, 0.7),
            ("as of", block.as_of.isoformat(), 0.9),
            *use_cell(a.specification),
        ),
        LEFT,
        FOOT - 50,
        RIGHT - LEFT,
        50,
    )
    description = (
        f"Drawing {block.number} revision {block.revision}: {words}; it {hand_words(a.specification.hand)}. "
        f"{bolt_words(a.specification.hub, units)}. Plan, edge view, sections at {len(shared.stations)} stations, "
        "hub face and table of stations."
    )
    svg = picture(
        parts, WIDTH, HEIGHT, title=f"Drawing {block.number}", description=description, name="sheet"
    )
    return SheetPicture(svg, description)


def _fitting(length: float, room: float) -> float:
    """The largest usual scale (1 to ...) at which `length` m fits into `room` points."""
    return next((s for s in SCALES if length * POINTS_PER_M / s <= room), SCALES[-1])


def _views(shared: _Parts) -> tuple[str, list[str]]:
    """Plan and edge view one under the other at one scale, dimensioned; the scale in words."""
    surface, specification = shared.surface, shared.specification
    tip = float(surface.r[-1])
    two = specification.blades == 2
    length = 2 * tip if two else tip + surface.boss_radius
    widest = max(float(surface.forward_edge.max()), -float(surface.rearward_edge.min()), surface.boss_radius)
    depth = 2 * widest + shared.boss_thickness
    ratio = max(_fitting(length, 1080 if two else 760), _fitting(depth, 172))
    scale = POINTS_PER_M / ratio
    x = (LEFT + RIGHT) / 2 if two else LEFT + 330 + surface.boss_radius * scale
    reach = widest * scale
    plan_y = TOP + 62 + reach
    edge_y = plan_y + reach + 74 + shared.boss_thickness / 2 * scale
    parts = [
        line(
            (x - (tip if two else surface.boss_radius) * scale - 14, plan_y),
            (x + tip * scale + 14, plan_y),
            CENTRE,
        )
    ]
    for way in (0.0, pi) if two else (0.0,):
        parts += blade_parts(surface, Placing((x, plan_y), scale, way, shared.sense), None)
    parts += hub_parts(
        specification.hub, 2 * surface.boss_radius, (x, plan_y), scale, clocking=specification.clocking
    )
    parts.append(_diameter(shared, x, plan_y, tip, scale, reach, two))
    parts += _station_ticks(shared, x, plan_y, scale)
    radius = surface.boss_radius * scale + 16
    parts.append(arc_arrow((x, plan_y), radius, -72 if shared.sense > 0 else -34, 38 * shared.sense))
    parts.append(text((x + radius * 0.8 + 8, plan_y - reach - 9), hand_words(specification.hand), size=10.5))
    parts += edge_parts(
        surface,
        shared.boss_thickness,
        (x, edge_y),
        scale,
        planes=shared.planes,
        both_sides=two,
        units=shared.units,
        hardware=specification.hardware,
    )
    parts.append(
        text((x + tip * scale, edge_y - 24), "edge view, front upward", size=9, anchor="end", soft=True)
    )
    if not two:
        parts += _rosette(shared)
    return f"1 : {ratio:g}", parts


def _diameter(shared: _Parts, x: float, y: float, tip: float, scale: float, reach: float, two: bool) -> str:
    diameter = shared.specification.diameter or 2 * tip
    right = (x + tip * scale, y)
    if two:
        return dimension(
            (x - tip * scale, y), right, both_lengths(diameter, shared.units), offset=-reach - 24
        )
    words = f"radius {both_lengths(diameter / 2, shared.units)}"
    return dimension((x, y), right, words, offset=-reach - 24)


def _station_ticks(shared: _Parts, x: float, y: float, scale: float) -> list[str]:
    parts: list[str] = []
    surface = shared.surface
    half = max(float(surface.forward_edge.max()), -float(surface.rearward_edge.min()), surface.boss_radius)
    down = half * scale + 12
    for station in shared.stations:
        at = x + station.r * scale
        ahead, behind = station.ahead * scale * shared.sense, -station.behind * scale * shared.sense
        parts += [
            line((at, y + min(ahead, behind)), (at, y + max(ahead, behind)), THIN),
            line((at, y + down - 4), (at, y + down), THIN),
            text((at, y + down + 10), _figure(station.r, shared.units, 0), size=9, anchor="middle"),
        ]
    parts.append(text((x - 6, y + down + 10), f"station, {shared.units}", size=9, anchor="end", soft=True))
    return parts


def _rosette(shared: _Parts) -> list[str]:
    """All blades small at the left, where the large views show one."""
    centre = (LEFT + 140, TOP + 150)
    scale = 120 / float(shared.surface.r[-1])
    return [
        circle(centre, 120, HAIR + ' stroke-dasharray="2 4"'),
        *plan_parts(
            shared.surface,
            shared.specification.hub,
            centre,
            scale,
            ways=directions(shared.specification.blades),
            sense=shared.sense,
            clocking=shared.specification.clocking,
        ),
        text((centre[0], centre[1] + 138), "seen from its slipstream", size=9, anchor="middle", soft=True),
    ]


def _section_row(shared: _Parts) -> list[str]:
    """Sections at the stations in a row, at their angle to the plane of rotation, front upward."""
    stations = shared.stations
    cell = (RIGHT - LEFT) / len(stations)
    widest = max(s.ahead + s.behind for s in stations)
    deepest = max(s.front + s.back for s in stations)
    ratio = max(_fitting(widest, cell - 22), _fitting(deepest, 82))
    scale = POINTS_PER_M / ratio
    y = 452.0
    parts = [
        text(
            (LEFT, y - 62),
            f"sections at 1 : {ratio:g}, front upward, the blade moves to the right; chain line: plane of rotation",
            size=9,
            soft=True,
        )
    ]
    for k, station in enumerate(stations):
        x = LEFT + (k + 0.5) * cell - (station.ahead - station.behind) / 2 * scale
        outline = [(x + float(s) * scale, y - float(z) * scale) for s, z in station.outline]
        left, right = x - station.behind * scale - 8, x + station.ahead * scale + 8
        parts += [
            line((left, y), (right, y), CENTRE),
            line((x, y - 5), (x, y + 5), THIN),
            path(outline, OUTLINE, closed=True),
            text(
                (LEFT + (k + 0.5) * cell, y + 58),
                f"{_figure(station.r, shared.units, 0)} {shared.units}, {station.angle:.1f}°",
                size=9.5,
                anchor="middle",
            ),
        ]
    return parts


def _hub_view(shared: _Parts) -> tuple[list[str], list[str]]:
    """The hub's face, and its figures in words."""
    specification = shared.specification
    boss = 2 * shared.surface.boss_radius
    centre = (LEFT + 130, 640.0)
    scale = 172 / boss
    radius = 86.0
    parts = hub_parts(specification.hub, boss, centre, scale, clocking=specification.clocking, turned=-pi / 2)
    parts += [
        line((centre[0], centre[1] - radius - 14), (centre[0], centre[1] + radius + 14), CENTRE),
        line((centre[0] - radius - 14, centre[1]), (centre[0] + radius + 14, centre[1]), CENTRE),
        arrow_head((centre[0], centre[1] - radius - 16), -90, 8),
        text((centre[0] - 8, centre[1] - radius - 10), "blade 1", size=9, anchor="end"),
        arc_arrow(centre, radius + 12, -70 if shared.sense > 0 else -35, 35 * shared.sense),
        text((LEFT, 640 - radius - 30), "hub, seen from its slipstream", size=9, soft=True),
    ]
    labels = hub_words(specification, boss, shared.units)
    return parts, labels


def _notes(assessment: Assessment, units: Units, labels: list[str]) -> list[str]:
    s = assessment.specification
    lines = [*labels]
    if s.use is Use.DISPLAY:
        lines.insert(0, "NOT FOR FLIGHT: a display piece")
    blank = assessment.lamination
    if blank is not None:
        lines.append(f"{s.timber.name}, {blank.layers} layers of {length_words(blank.thickness, units)}")
    else:
        lines.append(s.timber.name)
    lines.append(f"finish: {s.finish.name}" + (f"; edge guard: {s.guard.name}" if s.guard else ""))
    lines.append(f"pitch on the flat face; tips {s.tip_form.value}")
    if assessment.mass is not None:
        low, high = (assessment.mass.total * (1 + k * assessment.bands["mass"]) for k in (-1, 1))
        lines.append(f"mass {low:.1f} to {high:.1f} kg, computed")
    caution = notes([CAUTION], (LEFT + 560, 538), size=9, leading=11, wide=118)
    return notes(lines, (LEFT + 262, 562), leading=13.5, wide=NOTE_WIDTH) + caution


def _figure(length: float, units: Units, digits: int = 2) -> str:
    value = length / 0.0254 if units == "in" else length * 1000
    decimals = digits if units == "in" else max(digits - 1, 0)
    if digits == 0:
        return f"{value:.2f}".rstrip("0").rstrip(".")
    return f"{value:.{decimals}f}"


def _station_rows(shared: _Parts) -> list[str]:
    u = shared.units
    head = ("station", "chord", "thickness", "angle °", "ahead", "behind", "front", "back")
    rows = [
        (
            _figure(s.r, u, 0) + (" *" if s.in_root else ""),
            _figure(s.chord, u),
            _figure(s.thickness, u),
            f"{s.angle:.1f}",
            _figure(s.ahead, u),
            _figure(s.behind, u),
            _figure(s.front, u),
            _figure(s.back, u),
        )
        for s in shared.stations
    ]
    x, width = LEFT + 560, RIGHT - LEFT - 560
    parts = table(head, rows, (x, 566), width)
    y = 566 + (len(rows) + 1) * 15.5 + 8
    words = (
        f"{u}; ahead and behind from the blade's centre line in plan, front and back from the hub's middle plane.",
        "* in the root's blend: carve to ahead, behind, front and back.",
    )
    return parts + [text((x, y + 12 * k), sentence, size=8.5, soft=True) for k, sentence in enumerate(words)]
