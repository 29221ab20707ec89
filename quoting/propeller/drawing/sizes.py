"""The map of sizes as a picture: lines of equal rpm over diameter and pitch, the offers and the choice marked."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from quoting.propeller.drawing.axes import BAND, STROKES, Axis, Chart
from quoting.propeller.drawing.lettering import Units
from quoting.propeller.drawing.performance import BASE, DOT, HEIGHT, LEFT, RIGHT, TOP, WIDTH
from quoting.propeller.drawing.svg import MEDIUM, circle, path, picture, text
from quoting.propeller.recommend import TIP_MACH, TOP_SPEED_RATIO, Recommendation
from quoting.propeller.sizemap import SizeMap


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
    `tip_mach` there.
    """
    per = 0.0254 if units == "in" else 0.001
    across, up = sizes.diameter / per, sizes.pitch / per
    chart = Chart(
        Axis(float(across[0]), float(across[-1]), LEFT, RIGHT, f"diameter, {units}"),
        Axis(float(up[0]), float(up[-1]), BASE, TOP, f"pitch, {units}"),
    )
    parts = [*_too_fast(sizes, chart, per, tip_mach), *chart.ground()]
    for k, (character, share) in enumerate(sorted(TOP_SPEED_RATIO.items(), key=lambda item: item[1])):
        line = sizes.pitch_at(share) / per
        parts.append(chart.curve(across, line, STROKES[k]))
        words = f"{character.value}: {60 * share * sizes.rated:.0f} rev/min"
        legend = (RIGHT - 150, TOP + 8 + 15 * k)
        parts.append(path([(legend[0] - 34, legend[1] - 4), (legend[0] - 6, legend[1] - 4)], STROKES[k]))
        parts.append(text(legend, words, size=11))
    said = []
    for offer in recommendations:
        x, y = offer.diameter / per, offer.pitch / per
        said.append(f"{offer.character.value} {x:.0f} x {y:.0f} {units}")
        if chart.holds(x, y):
            parts.append(circle(chart.at(x, y), 5, MEDIUM))
    own = (diameter / per, pitch / per)
    if chart.holds(*own):
        at = chart.at(*own)
        parts += [
            circle(at, 3.2, DOT),
            text((at[0] - 8, at[1] - 8), f"{own[0]:.0f} x {own[1]:.0f}", anchor="end", strong=True),
        ]
    return picture(
        parts,
        WIDTH,
        HEIGHT,
        title="Map of sizes",
        description=(
            f"Sizes that turn equally fast flat out in level flight. This propeller: {own[0]:.0f} x {own[1]:.0f} "
            f"{units}." + (f" Recommended: {'; '.join(said)}." if said else "")
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
    if strips:
        strips.append(
            text((RIGHT - 4, BASE - 6), f"tips above Mach {limit:g}", size=11, anchor="end", soft=True)
        )
    return strips
