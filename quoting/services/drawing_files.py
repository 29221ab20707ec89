"""Everything drawn of one propeller as files: sheet, charts, templates for paper and machine, solid for the mock-up.

Imports the typesetter and the solid modeller; only tasks and commands import this file.
"""

from dataclasses import dataclass, field

from quoting.documents.drawings import sheets_pdf
from quoting.propeller import shaded, solid
from quoting.propeller.assessment import Assessment
from quoting.propeller.drawing.cells import TitleBlock
from quoting.propeller.drawing.lettering import Units, propeller_words
from quoting.propeller.drawing.performance import power_svg, stress_svg, thrust_svg
from quoting.propeller.drawing.performance_sheet import performance_sheet
from quoting.propeller.drawing.sheet import NothingToDrawError, drawing_sheet
from quoting.propeller.drawing.sizes import map_svg
from quoting.propeller.drawing.truesize import drill_sheets, station_sheets
from quoting.propeller.dxf import drill_dxf, station_dxf
from quoting.propeller.sizemap import sizes_about
from quoting.propeller.stations import station_table
from quoting.propeller.template import (
    DrillTemplate,
    StationTemplate,
    pattern_template,
    station_templates,
    to_be_measured,
)

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


@dataclass(frozen=True, eq=False)
class Drawn:
    """One assessed propeller and the title block its files carry; each method makes one file's bytes.

    Raises NothingToDrawError when the assessment has no geometry.
    """

    assessment: Assessment
    block: TitleBlock

    def __post_init__(self) -> None:
        if self.assessment.blade is None or self.assessment.boss is None:
            reasons = "; ".join(finding.message for finding in self.assessment.findings)
            raise NothingToDrawError(f"no drawing: {reasons}")

    def name(self, units: Units) -> str:
        """What a template says it belongs to."""
        a, s = self.assessment, self.assessment.specification
        assert a.blade is not None
        size = propeller_words(a.blade.diameter, a.blade.pitch, s.blades, s.hand, s.position, units)
        return f"{self.block.number} {self.block.revision}, {self.block.as_of.isoformat()}: {size}"

    def drawing_pdf(self, units: Units) -> bytes:
        """The dimensioned sheet and, where the engine is known, the sheet of its performance; A3 on its side."""
        a, block = self.assessment, self.block
        sheets = [drawing_sheet(a, block, units)]
        if a.performance is not None:
            sheets.append(performance_sheet(a, sizes_about(a), block, units))
        title = f"Drawing {block.number}"
        return sheets_pdf(sheets, paper="a3", flipped=True, title=title, author=block.shop, day=block.as_of)

    def pattern(self) -> DrillTemplate:
        """The drill pattern; raises ValueError saying why there is none to drill from."""
        a = self.assessment
        assert a.blade is not None and a.boss is not None
        return pattern_template(a.specification.hub, a.boss, a.blade.blades)

    def drill_pdf(self, paper: str, units: Units) -> bytes:
        sheets = drill_sheets(
            self.pattern(),
            paper=paper,
            units=units,
            name=self.name(units),
            measure=to_be_measured(self.assessment.specification.hub),
        )
        return sheets_pdf(
            sheets, paper=paper, title="Drill template", author=self.block.shop, day=self.block.as_of
        )

    def drill_dxf(self) -> bytes:
        measure = to_be_measured(self.assessment.specification.hub)
        return drill_dxf(self.pattern(), " ".join(part for part in (self.name("mm"), measure) if part))

    def cut(self, units: Units) -> tuple[StationTemplate, ...]:
        """The sections at the drawing's stations outside the root's blend."""
        a = self.assessment
        assert a.blade is not None and a.boss is not None
        table = station_table(a.blade, a.boss.diameter, a.boss.thickness, units)
        return station_templates(a.blade, [s.r for s in table if not s.in_root])

    def station_pdf(self, paper: str, units: Units) -> bytes:
        sheets = station_sheets(self.cut(units), paper=paper, units=units, name=self.name(units))
        return sheets_pdf(
            sheets, paper=paper, title="Station templates", author=self.block.shop, day=self.block.as_of
        )

    def station_dxf(self, units: Units) -> bytes:
        return station_dxf(self.cut(units))

    def layers(self) -> tuple[solid.Solid, ...]:
        """The finished wood cut at its glue lines, rearmost layer first."""
        a = self.assessment
        assert a.lamination is not None
        return solid.layers(self.whole(), a.lamination.planes)

    def whole(self) -> solid.Solid:
        a, s = self.assessment, self.assessment.specification
        assert a.surface is not None and a.boss is not None
        return solid.solid(a.surface, a.boss, s.blades, hand=s.hand, position=s.position)

    def colours(self) -> list[str]:
        colour = self.assessment.specification.timber.colour
        return [colour, darker(colour)]

    def glb(self) -> bytes:
        """The solid for a viewer, one coloured layer a lamination."""
        return solid.glb(self.layers(), self.colours())

    def mock_up_png(self) -> bytes:
        """The solid in the light of a workshop window, its laminations told apart by shade."""
        bodies = [(part.mesh.vertices, part.mesh.faces) for part in self.layers()]
        return shaded.two_views(bodies, self.colours(), self.assessment.specification.blades)


def drawing_files(
    assessment: Assessment, block: TitleBlock, *, units: Units, paper: str = "a4"
) -> DrawingFiles:
    """All pictures, templates and solids of an assessment. Raises NothingToDrawError when there is no geometry."""
    drawn, made = Drawn(assessment, block), DrawingFiles()
    made.files["drawing.svg"] = drawing_sheet(assessment, block, units).svg.encode()
    made.files["drawing.pdf"] = drawn.drawing_pdf(units)
    _charts(assessment, units, made)
    try:
        made.files["drill-template.pdf"] = drawn.drill_pdf(paper, units)
        made.files["drill-template.dxf"] = drawn.drill_dxf()
    except ValueError as refused:
        made.left_out.append(str(refused))
    made.files["station-templates.pdf"] = drawn.station_pdf(paper, units)
    made.files["station-templates.dxf"] = drawn.station_dxf(units)
    made.files["mock-up.glb"] = drawn.glb()
    made.files["mock-up.png"] = drawn.mock_up_png()
    made.files["solid.stl"] = solid.stl(drawn.whole())
    return made


def _charts(assessment: Assessment, units: Units, made: DrawingFiles) -> None:
    a, s = assessment, assessment.specification
    if a.performance is None:
        made.left_out.append("power, thrust and sizes: how it runs on the engine is not known")
    else:
        made.files["power.svg"] = power_svg(a.performance, units).encode()
        made.files["thrust.svg"] = thrust_svg(a.performance, units).encode()
        sizes = sizes_about(a)
        if sizes is not None and a.blade is not None:
            chosen = map_svg(sizes, a.blade.diameter, s.pitch or 0.0, a.recommendations, units)
            made.files["sizes.svg"] = chosen.encode()
        else:
            made.left_out.append("map of sizes: no top speed is known")
    if a.strength is None:
        made.left_out.append("stress: there is no speed to stress the blade at")
    else:
        made.files["stress.svg"] = stress_svg(a.strength, units).encode()


__all__ = ["Drawn", "DrawingFiles", "NothingToDrawError", "darker", "drawing_files"]
