"""The map of sizes as a picture: lines of equal rpm over diameter and pitch, the offers and the choice marked."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from quoting.propeller.drawing.axes import (
    BAND,
    BASE,
    DOT,
    LEFT,
    RIGHT,
    ROW,
    STROKES,
    WIDTH,
    Axis,
    Chart,
    key,
    stroke_sign,
)
from quoting.propeller.drawing.lettering import Units
from quoting.propeller.drawing.svg import MEDIUM, Point, circle, path, picture, rectangle
from quoting.propeller.recommend import TIP_MACH, TOP_SPEED_RATIO, Character, Recommendation
from quoting.propeller.sizemap import SizeMap

TOP = 30.0


def sign(character: Character, at: Point) -> str:
    """An offer's sign: a triangle for climb, a square for standard, a diamond for cruise."""
    x, y = at
    if character is Character.CLIMB:
        return path([(x, y - 7), (x + 6.5, y + 5), (x - 6.5, y + 5)], MEDIUM, closed=True)
    if character is Character.STANDARD:
        return rectangle(x - 5, y - 5, 10, 10, MEDIUM)
    return path([(x, y - 7.5), (x + 7.5, y), (x, y + 7.5), (x - 7.5, y)], MEDIUM, closed=True)


def size_words(diameter: float, pitch: float, units: Units) -> str:
    """72 x 44 in, halves kept; whole millimetres."""
    per, digits = (0.0254, 1) if units == "in" else (0.001, 0)
    return " x ".join(f"{v / per:.{digits}f}".removesuffix(".0") for v in (diameter, pitch)) + f" {units}"


def map_svg(
    sizes: SizeMap,
    diameter: float,
    pitch: float,
    recommendations: Sequence[Recommendation] = (),
    units: Units = "in",
    *,
    tip_mach: float = TIP_MACH,
    name: str = "sizes",
) -> str:
    """Diameter across, pitch up; `diameter` and `pitch` in m are the propeller's own.

    A line joins the sizes that turn equally fast flat out in level flight; the dark ground is where the tips pass
    `tip_mach` there. Each offer has its sign, told under the picture.
    """
    per = 0.0254 if units == "in" else 0.001
    across, up = sizes.diameter / per, sizes.pitch / per
    chart = Chart(
        Axis(float(across[0]), float(across[-1]), LEFT, RIGHT, f"diameter, {units}"),
        Axis(float(up[0]), float(up[-1]), BASE, TOP, f"pitch, {units}"),
    )
    fast = _too_fast(sizes, chart, per, tip_mach)
    parts = [*fast, *chart.ground()]
    entries = []
    for k, (character, share) in enumerate(sorted(TOP_SPEED_RATIO.items(), key=lambda item: item[1])):
        parts.append(chart.curve(across, sizes.pitch_at(share) / per, STROKES[k]))
        entries.append(
            (stroke_sign(STROKES[k]), f"{60 * share * sizes.rated:.0f} rev/min flat out: {character.value}")
        )
    said = []
    for offer in recommendations:
        words = f"{offer.character.value} {size_words(offer.diameter, offer.pitch, units)}"
        said.append(words)
        x, y = offer.diameter / per, offer.pitch / per
        if chart.holds(x, y):
            parts.append(sign(offer.character, chart.at(x, y)))
            entries.append((sign(offer.character, (0.0, 0.0)), f"recommended: {words}"))
        else:
            entries.append((sign(offer.character, (0.0, 0.0)), f"recommended: {words}, off this map"))
    own = (diameter / per, pitch / per)
    if chart.holds(*own):
        parts.append(circle(chart.at(*own), 3.2, DOT))
    entries.append((circle((0.0, 0.0), 3.2, DOT), f"this propeller: {size_words(diameter, pitch, units)}"))
    if fast:
        ground = path([(-16, -6), (16, -6), (16, 6), (-16, 6)], BAND, closed=True)
        entries.append((ground, f"dark ground: tips above Mach {tip_mach:g}"))
    legend, end = key(entries, BASE + 56)
    return picture(
        [*parts, *legend],
        WIDTH,
        end - ROW + 10,
        title="Map of sizes",
        description=(
            "Sizes that turn equally fast flat out in level flight. This propeller: "
            f"{size_words(diameter, pitch, units)}." + (f" Recommended: {'; '.join(said)}." if said else "")
        ),
        name=name,
    )


def _too_fast(sizes: SizeMap, chart: Chart, per: float, limit: float) -> list[str]:
    """The ground below the pitch at which each diameter's tips come down to the limit."""
    edge = [
        float(np.interp(-limit, -row, sizes.pitch, left=sizes.pitch[0], right=sizes.pitch[-1])) / per
        for row in sizes.tip_mach
    ]
    floor = float(sizes.pitch[0]) / per
    strips = []
    for (d0, p0), (d1, p1) in pairwise(zip(sizes.diameter / per, edge, strict=True)):
        if max(p0, p1) > floor:
            corners = [chart.at(d0, floor), chart.at(d0, p0), chart.at(d1, p1), chart.at(d1, floor)]
            strips.append(path(corners, BAND, closed=True))
    return strips
