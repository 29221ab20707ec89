"""Templates at true size: the drill pattern and the station sections as plane geometry, and the paper they tile."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, cos, pi, sin

import numpy as np
from numpy.typing import NDArray

from quoting.propeller.blade import Blade
from quoting.propeller.catalogue import HubPattern
from quoting.propeller.figure import Trust
from quoting.propeller.hub import Boss

Array = NDArray[np.float64]

PAPERS = {"a4": (0.210, 0.297), "us-letter": (0.2159, 0.2794)}
"""Width and height in m: ISO 216, and 8-1/2 by 11 in."""
MARGIN = 0.012
FOOT = 0.034
"""Height in m kept at the foot of each sheet for the measured bar and the words."""
OVERLAP = 0.010


DRILLED = {
    "circle": "bolt circle",
    "hole": "hole diameter",
    "pilot": "bore",
    "lug_diameter": "diameter of the drive lugs",
}
"""Figures of a hub pattern that a template shows, by their names in words."""


class IncompletePatternError(ValueError):
    """A hub pattern lacks a figure, or one is doubtful; the message names each and says why no template is made."""


def with_trust(hub: HubPattern, *marks: Trust) -> list[str]:
    """The drilled figures of a pattern that carry one of the marks of trust, in words with their source."""
    given = ((words, getattr(hub, field)) for field, words in DRILLED.items())
    return [f"{words} ({f.source})" for words, f in given if f is not None and f.trust in marks]


def pattern_template(hub: HubPattern, boss: Boss, blades: int) -> "DrillTemplate":
    """The template of a pattern whose every figure may be drilled from.

    Raises IncompletePatternError for a missing or doubtful figure, ValueError when the holes do not fit or there are
    none to drill.
    """
    if hub.is_blank:
        raise ValueError("no drill template: a blank boss has no bolt holes")
    doubtful = with_trust(hub, Trust.UNSURE)
    if doubtful:
        raise IncompletePatternError(
            f"no drill template: doubtful {'; doubtful '.join(doubtful)}; measure the hub or ask its maker"
        )
    return drill_template(boss, blades)


def to_be_measured(hub: HubPattern) -> str:
    """A sentence naming the figures nobody has read in a document or measured; "" when there is none."""
    unread = with_trust(hub, Trust.MEMORY, Trust.COMMON_PRACTICE)
    return f"Not read in a document: {', '.join(unread)}. Measure the flange first." if unread else ""


@dataclass(frozen=True, eq=False)
class DrillTemplate:
    """The hub's pattern as seen from the front of the boss; lengths in m about the shaft, y along the first blade.

    `holes` (n, 2) centres; `blade_angles` in rad clockwise from the first blade. `bore` and `lug` are None when
    the pattern has none.
    """

    boss: float
    circle: float
    hole: float
    holes: Array
    bore: float | None
    lug: float | None
    blade_angles: tuple[float, ...]

    @property
    def neighbour_distance(self) -> float:
        """Centre to centre of neighbouring holes in m, to check with a caliper."""
        return self.circle * sin(pi / len(self.holes))


def drill_template(boss: Boss, blades: int) -> DrillTemplate:
    """The template of a complete pattern.

    Raises IncompletePatternError when the number of holes, their circle or their size is missing, and ValueError
    when the holes do not fit on the boss: a template is drilled from without a second look.
    """
    given = (("number of holes", boss.bolts), ("bolt circle", boss.circle), ("hole diameter", boss.hole))
    missing = [name for name, value in given if value is None]
    if missing:
        raise IncompletePatternError(
            f"no drill template: the pattern has no {' and no '.join(missing)}; measure the hub or ask its maker"
        )
    assert boss.circle is not None and boss.hole is not None
    cut = max(boss.hole, boss.lug or 0.0)
    if boss.circle + cut >= boss.diameter:
        raise ValueError("no drill template: the holes break out of the boss")
    if boss.bore is not None and boss.circle - cut <= boss.bore:
        raise ValueError("no drill template: the holes run into the bore")
    if len(boss.holes) > 1 and boss.circle * sin(pi / len(boss.holes)) <= cut:
        raise ValueError("no drill template: the holes run into one another")
    return DrillTemplate(
        boss=boss.diameter,
        circle=boss.circle,
        hole=boss.hole,
        holes=boss.holes,
        bore=boss.bore,
        lug=boss.lug,
        blade_angles=tuple(2 * pi * k / blades for k in range(blades)),
    )


@dataclass(frozen=True, eq=False)
class StationTemplate:
    """One section lying on its flat face: `outline` (65, 2) of (u, v) in m, u from the blade's axis to the trailing edge.

    `r` in m; `angle` in rad between the flat face and the plane of rotation.
    """

    r: float
    chord: float
    thickness: float
    angle: float
    outline: Array

    def rotation_plane(self, length: float) -> tuple[tuple[float, float], tuple[float, float]]:
        """Ends in m of a line of `length` through the blade's axis in the plane of rotation."""
        half = 0.5 * length
        across, up = half * cos(self.angle), half * sin(self.angle)
        return (-across, -up), (across, up)


def station_templates(
    blade: Blade, radii: Sequence[float], edge: float = 0.0025
) -> tuple[StationTemplate, ...]:
    """Sections of the blade proper at `radii` in m; raises ValueError for one off the blade."""
    x = np.asarray(radii, dtype=float) / blade.radius
    if x.size == 0 or not bool(np.all((x > 0) & (x < 1))):
        raise ValueError(f"radii: accepted are more than 0 and less than {blade.radius:g} m")
    outlines = blade.section_outlines(x, edge)
    return tuple(
        StationTemplate(
            r=float(radius),
            chord=float(blade.chord_m(fraction)),
            thickness=float(blade.thickness_m(fraction)),
            angle=float(blade.angle_rad(fraction)),
            outline=outline,
        )
        for radius, fraction, outline in zip(radii, x, outlines, strict=True)
    )


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet: `left` and `top` in m of its window in the drawing (y down), its window's size, row and column."""

    row: int
    column: int
    rows: int
    columns: int
    left: float
    top: float
    width: float
    height: float


def tiles(width: float, height: float, paper: str) -> tuple[Tile, ...]:
    """Sheets that cover a drawing of `width` x `height` m at true size, overlapping by a centimetre, centred.

    Raises ValueError for an unknown paper.
    """
    if paper not in PAPERS:
        raise ValueError(f"paper: {paper!r} given, accepted are {' and '.join(PAPERS)}")
    across, down = PAPERS[paper]
    window, depth = across - 2 * MARGIN, down - 2 * MARGIN - FOOT
    columns = 1 if width <= window else ceil((width - OVERLAP) / (window - OVERLAP))
    rows = 1 if height <= depth else ceil((height - OVERLAP) / (depth - OVERLAP))
    spare_x = columns * window - (columns - 1) * OVERLAP - width
    spare_y = rows * depth - (rows - 1) * OVERLAP - height
    return tuple(
        Tile(
            row=row,
            column=column,
            rows=rows,
            columns=columns,
            left=column * (window - OVERLAP) - 0.5 * spare_x,
            top=row * (depth - OVERLAP) - 0.5 * spare_y,
            width=window,
            height=depth,
        )
        for row in range(rows)
        for column in range(columns)
    )
