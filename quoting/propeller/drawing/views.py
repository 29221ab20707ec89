"""Single views of the drawing for a phone and an approval: the hub's face, and the sections at their stations."""

from collections.abc import Sequence
from math import pi

from quoting.propeller.catalogue import Hand
from quoting.propeller.drawing.hubface import hub_parts
from quoting.propeller.drawing.lettering import (
    Units,
    bolt_words,
    both_lengths,
    hand_words,
    length_words,
)
from quoting.propeller.drawing.svg import (
    CENTRE,
    OUTLINE,
    THIN,
    arc_arrow,
    arrow_head,
    dimension,
    line,
    path,
    picture,
    text,
)
from quoting.propeller.specification import Hardware, Specification
from quoting.propeller.stations import Station

WIDTH = 360.0
LETTERS = 12.5
ROW = 17.0
COLUMNS = 3


def hub_words(specification: Specification, boss: float, units: Units) -> list[str]:
    """The hub's figures in words, one a line, and what keeps it from being drilled."""
    hub = specification.hub
    nothing = hub.bolts is None and hub.circle is None and hub.hole is None
    holes = "no bolt pattern given" if nothing else bolt_words(hub, units)
    said = [f"boss {both_lengths(boss, units)}", holes]
    if hub.pilot is not None:
        said.append(f"bore {both_lengths(hub.pilot.value, units)}")
    if hub.lug_diameter is not None:
        depth = f", {length_words(hub.lug_depth.value, units)} deep" if hub.lug_depth else ""
        said.append(f"lug counterbores {length_words(hub.lug_diameter.value, units)}{depth}")
    said += hardware_words(specification.hardware, units)
    if specification.clocking:
        said.append(f"clocking {specification.clocking:g}° clockwise seen from the front")
    if not hub.is_complete:
        said.append("PATTERN NOT COMPLETE: do not drill from this sheet")
    return said


def hardware_words(hardware: Hardware, units: Units) -> list[str]:
    """What is bolted up with the boss, two to a line; none for nothing."""
    named = (
        ("face plate", hardware.face_plate_thickness),
        ("spacer", hardware.spacer_thickness),
        ("spinner", hardware.spinner_diameter),
        ("bolts", hardware.bolt_length or 0.0),
    )
    given = [f"{name} {length_words(length, units)}" for name, length in named if length]
    return [", ".join(given[i : i + 2]) for i in range(0, len(given), 2)]


def hub_svg(specification: Specification, boss: float, units: Units = "in", *, name: str = "hub") -> str:
    """The hub's face from the slipstream with blade 1 upward, the way it turns, its boss dimensioned; boss in m."""
    radius = 118.0
    middle = (WIDTH / 2, 154.0)
    x, y = middle
    sense = 1.0 if specification.hand is Hand.RIGHT else -1.0
    parts = hub_parts(
        specification.hub, boss, middle, 2 * radius / boss, clocking=specification.clocking, turned=-pi / 2
    )
    parts += [
        line((x, y - radius - 14), (x, y + radius + 14), CENTRE),
        line((x - radius - 14, y), (x + radius + 14, y), CENTRE),
        arrow_head((x, y - radius - 18), -90, 8),
        text((x - 10, y - radius - 14), "blade 1", size=LETTERS, anchor="end"),
        arc_arrow(middle, radius + 12, -70 if sense > 0 else -35, 35 * sense),
        dimension(
            (x - radius, y), (x + radius, y), both_lengths(boss, units), offset=radius + 30, size=LETTERS
        ),
    ]
    said = [hand_words(specification.hand), *hub_words(specification, boss, units)[1:]]
    top = y + radius + 58
    parts += [text((16, top + ROW * k), words, size=LETTERS) for k, words in enumerate(said)]
    return picture(
        parts,
        WIDTH,
        top + ROW * len(said) - 6,
        title="Hub face, seen from the slipstream",
        description=f"{'; '.join(said)}; boss {both_lengths(boss, units)}.",
        name=name,
    )


def station_words(length: float, units: Units) -> str:
    """A station as it is called: 24 in, 600 mm."""
    value = length / 0.0254 if units == "in" else length * 1000
    return f"{value:.2f}".rstrip("0").rstrip(".") + f" {units}"


def sections_svg(stations: Sequence[Station], units: Units = "in", *, name: str = "sections") -> str:
    """The carved sections, three in a row, at their angle to the plane of rotation, front upward."""
    cell = WIDTH / COLUMNS
    widest = max(s.ahead + s.behind for s in stations)
    deepest = max(max(s.front, s.back) for s in stations)
    scale = min((cell - 26) / widest, 44 / deepest)
    high = 2 * deepest * scale + 44
    parts = []
    for k, station in enumerate(stations):
        middle, y = (k % COLUMNS + 0.5) * cell, (k // COLUMNS) * high + deepest * scale + 14
        x = middle - (station.ahead - station.behind) / 2 * scale
        outline = [(x + float(s) * scale, y - float(z) * scale) for s, z in station.outline]
        words = f"{station_words(station.r, units)}, {station.angle:.1f}°"
        parts += [
            line((x - station.behind * scale - 8, y), (x + station.ahead * scale + 8, y), CENTRE),
            line((x, y - 5), (x, y + 5), THIN),
            path(outline, OUTLINE, closed=True),
            text((middle, y + deepest * scale + 20), words, size=LETTERS, anchor="middle"),
        ]
    rows = (len(stations) + COLUMNS - 1) // COLUMNS
    return picture(
        parts,
        WIDTH,
        rows * high + 4,
        title="Sections at the stations",
        description=(
            f"{len(stations)} sections from {station_words(stations[0].r, units)} to "
            f"{station_words(stations[-1].r, units)}, front upward, the chain line is the plane of rotation; "
            "their figures stand in the table of stations."
        ),
        name=name,
    )
