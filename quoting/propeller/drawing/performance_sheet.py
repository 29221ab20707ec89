"""The second sheet of a drawing: what the propeller is computed to do, as pictures and as a table, on A3."""

from quoting.propeller.assessment import Assessment
from quoting.propeller.drawing.cells import TitleBlock, notes, table, title_block, use_cell
from quoting.propeller.drawing.flights import HEAD, flight_rows
from quoting.propeller.drawing.lettering import Units, propeller_words
from quoting.propeller.drawing.performance import power_svg, stress_svg, thrust_svg
from quoting.propeller.drawing.sheet import FOOT, HEIGHT, LEFT, RIGHT, TOP, WIDTH, NothingToDrawError
from quoting.propeller.drawing.sizes import map_svg
from quoting.propeller.drawing.svg import HAIR, picture, rectangle, text
from quoting.propeller.drawing.truesize import SheetPicture
from quoting.propeller.sizemap import SizeMap

CAUTION = (
    "Computed figures with the bands in which tests are expected to fall; no approval. The approved data of engine "
    "and airframe, local rules and licensed practice go before this sheet.",
)
CHART = 366.0
"""Width of a picture on the sheet in points."""


def placed(svg: str, x: float, y: float, width: float = CHART) -> str:
    """A whole picture set into another at (x, y), `width` wide; its height follows."""
    box = svg.split('viewBox="0 0 ', 1)[1].split('"', 1)[0].split()
    height = width * float(box[1]) / float(box[0])
    return svg.replace('width="100%"', f'x="{x:g}" y="{y:g}" width="{width:g}" height="{height:.2f}"', 1)


def charts(assessment: Assessment, sizes: SizeMap | None, units: Units) -> list[str]:
    """The pictures there are figures for: power, thrust, map of sizes, stress."""
    a, s = assessment, assessment.specification
    drawn = []
    if a.performance is not None:
        drawn += [power_svg(a.performance, units), thrust_svg(a.performance, units)]
    if sizes is not None and a.blade is not None:
        drawn.append(map_svg(sizes, a.blade.diameter, s.pitch or 0.0, a.recommendations, units))
    if a.strength is not None:
        drawn.append(stress_svg(a.strength, units))
    return drawn


def performance_sheet(
    assessment: Assessment, sizes: SizeMap | None, block: TitleBlock, units: Units = "in"
) -> SheetPicture:
    """Pictures, table of flights and cautions under the drawing's own title block.

    Raises NothingToDrawError when the engine is not known or cannot turn this propeller: there is then nothing to show.
    """
    a = assessment
    if a.performance is None or a.blade is None:
        raise NothingToDrawError(
            "no performance sheet: the engine's power and rpm are not known, or it cannot turn this propeller"
        )
    words = propeller_words(
        a.blade.diameter, a.blade.pitch, a.blade.blades,
        a.specification.hand, a.specification.position, units,
    )  # fmt: skip
    parts = [rectangle(LEFT - 8, TOP - 8, RIGHT - LEFT + 16, FOOT - TOP + 16, HAIR)]
    for k, drawn in enumerate(charts(a, sizes, units)):
        parts.append(placed(drawn, LEFT + (k % 3) * (CHART + 14), TOP + 6 + 350 * (k // 3)))
    rows = flight_rows(a.performance, units)
    cells = [
        (r.name, r.airspeed, r.rpm, r.thrust, r.power, r.efficiency, r.tips.partition(" (")[0], r.tip_mach)
        for r in rows
    ]
    left = LEFT + CHART + 26
    parts += table(HEAD, cells, (left, TOP + 400), RIGHT - left, row_height=20, names=True)
    under = TOP + 400 + 20 * len(rows) + 40
    parts.append(
        text(
            (left, under), f"air: {a.performance.air.density:.3f} kg/m3; full throttle but at cruise", size=10
        )
    )
    parts += notes(CAUTION, (left, under + 22), size=10.5, leading=14, wide=120)
    parts += title_block(
        (
            ("performance of", words, 3.2),
            ("drawn by", block.shop, 1.6),
            ("number", block.number, 1.2),
            ("revision", block.revision, 0.6),
            ("state", block.state, 1.0),
            ("model", a.model_version, 0.7),
            ("as of", block.as_of.isoformat(), 0.9),
            *use_cell(a.specification),
        ),
        LEFT,
        FOOT - 50,
        RIGHT - LEFT,
        50,
    )
    description = f"Performance of {words}, drawing {block.number} revision {block.revision}. " + "; ".join(
        f"{r.name} {r.rpm} rev/min, thrust {r.thrust}" for r in rows
    )
    svg = picture(
        parts,
        WIDTH,
        HEIGHT,
        title=f"Performance {block.number}",
        description=description,
        name="performance-sheet",
    )
    return SheetPicture(svg, description)
