"""Everything drawn of one propeller as files: sheet, charts, templates for paper and machine, solid for the mock-up.

Imports the typesetter and the solid modeller; only tasks and commands import this file.
"""

from dataclasses import dataclass, field
from datetime import date

from quoting.documents.drawings import sheets_pdf
from quoting.propeller import solid
from quoting.propeller.assessment import Assessment
from quoting.propeller.drawing.cells import TitleBlock
from quoting.propeller.drawing.lettering import Units
from quoting.propeller.drawing.performance import power_svg, stress_svg, thrust_svg
from quoting.propeller.drawing.sheet import NothingToDrawError, drawing_sheet
from quoting.propeller.drawing.sizes import map_svg
from quoting.propeller.drawing.truesize import drill_sheets, station_sheets
from quoting.propeller.dxf import drill_dxf, station_dxf
from quoting.propeller.powerplant import Powerplant
from quoting.propeller.recommend import Recommendation
from quoting.propeller.sizemap import size_map
from quoting.propeller.stations import station_table
from quoting.propeller.template import drill_template, station_templates

SECOND_SHADE = 0.82
"""Every other layer of the mock-up is this much darker, so that the laminations can be told apart."""


@dataclass
class DrawingFiles:
    """File names and their bytes, and in words what was left out and why."""

    files: dict[str, bytes] = field(default_factory=dict)
    left_out: list[str] = field(default_factory=list)


def darker(colour: str, share: float = SECOND_SHADE) -> str:
    """A #rrggbb colour with each part scaled.

    >>> darker("#c89664", 0.5)
    '#644b32'
    """
    return "#" + "".join(f"{round(int(colour[k : k + 2], 16) * share):02x}" for k in (1, 3, 5))


def drawing_files(
    assessment: Assessment, block: TitleBlock, *, units: Units, paper: str = "a4"
) -> DrawingFiles:
    """All pictures, templates and solids of an assessment. Raises NothingToDrawError when there is no geometry."""
    sheet = drawing_sheet(assessment, block, units)
    made = DrawingFiles()
    made.files["drawing.svg"] = sheet.svg.encode()
    made.files["drawing.pdf"] = sheets_pdf(
        [sheet], paper="a3", flipped=True, title=f"Drawing {block.number}", author=block.shop, day=block.as_of
    )
    _charts(assessment, units, made)
    _templates(assessment, block, units, paper, made)
    _solid(assessment, made)
    return made


def _charts(assessment: Assessment, units: Units, made: DrawingFiles) -> None:
    a, s = assessment, assessment.specification
    if a.performance is None:
        made.left_out.append("power, thrust and sizes: the engine's rating is not known")
    else:
        made.files["power.svg"] = power_svg(a.performance, units).encode()
        made.files["thrust.svg"] = thrust_svg(a.performance, units).encode()
        if a.performance.top is not None and s.engine is not None and a.blade is not None:
            sizes = size_map(
                a.blade,
                Powerplant.from_engine(s.engine),
                a.performance.top.airspeed,
                a.performance.air,
                a.performance.wake,
            )
            offers = [offer for offer in a.recommendations if isinstance(offer, Recommendation)]
            chosen = map_svg(sizes, a.blade.diameter, s.pitch or 0.0, offers, units)
            made.files["sizes.svg"] = chosen.encode()
        else:
            made.left_out.append("map of sizes: no top speed is known")
    if a.strength is None:
        made.left_out.append("stress: there is no speed to stress the blade at")
    else:
        made.files["stress.svg"] = stress_svg(a.strength, units).encode()


def _templates(
    assessment: Assessment, block: TitleBlock, units: Units, paper: str, made: DrawingFiles
) -> None:
    assert assessment.blade is not None and assessment.boss is not None
    name = f"{block.number} {block.revision}, {block.as_of.isoformat()}"
    day: date = block.as_of
    try:
        pattern = drill_template(assessment.boss, assessment.blade.blades)
    except ValueError as refused:
        made.left_out.append(str(refused))
    else:
        sheets = drill_sheets(pattern, paper=paper, units=units, name=name)
        made.files["drill-template.pdf"] = sheets_pdf(
            sheets, paper=paper, title="Drill template", author=block.shop, day=day
        )
        made.files["drill-template.dxf"] = drill_dxf(pattern, name)
    table = station_table(assessment.blade, assessment.boss.diameter, assessment.boss.thickness, units)
    cut = station_templates(assessment.blade, [s.r for s in table if not s.in_root])
    made.files["station-templates.pdf"] = sheets_pdf(
        station_sheets(cut, paper=paper, units=units, name=name),
        paper=paper,
        title="Station templates",
        author=block.shop,
        day=day,
    )
    made.files["station-templates.dxf"] = station_dxf(cut)


def _solid(assessment: Assessment, made: DrawingFiles) -> None:
    a, s = assessment, assessment.specification
    assert a.surface is not None and a.boss is not None and a.lamination is not None
    whole = solid.solid(a.surface, a.boss, s.blades, hand=s.hand, position=s.position)
    layers = solid.layers(whole, a.lamination.planes)
    made.files["mock-up.glb"] = solid.glb(layers, [s.timber.colour, darker(s.timber.colour)])
    made.files["solid.stl"] = solid.stl(whole)


__all__ = ["DrawingFiles", "NothingToDrawError", "darker", "drawing_files"]
