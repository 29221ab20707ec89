"""The drill and station templates as DXF for those with a machine: millimetres, the same points as on paper.

Heavy library: only tasks and commands import this file.
"""

# mypy: allow-untyped-calls

import io
from collections.abc import Sequence
from math import cos, sin

import ezdxf
from ezdxf import units
from ezdxf.document import Drawing

from quoting.propeller.template import DrillTemplate, StationTemplate

ezdxf.options.write_fixed_meta_data_for_testing = True  # type: ignore[attr-defined]
# so that one propeller gives the same bytes each time

GAP = 25.0
"""Clear height in mm between two stations on the sheet."""


def _new(*layers: str) -> Drawing:
    document = ezdxf.new("R2010", units=units.MM)  # type: ignore[attr-defined]
    for layer in layers:
        document.layers.add(layer)
    return document


def _written(document: Drawing) -> bytes:
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode()


def drill_dxf(template: DrillTemplate, words: str) -> bytes:
    """The pattern seen from the front, shaft at the origin, first blade along +y; `words` as a note beneath."""
    document = _new("boss", "bore", "holes", "lugs", "bolt-circle", "blade-lines", "notes")
    space = document.modelspace()
    mm = 1000.0
    space.add_circle((0, 0), template.boss / 2 * mm, dxfattribs={"layer": "boss"})
    space.add_circle((0, 0), template.circle / 2 * mm, dxfattribs={"layer": "bolt-circle"})
    if template.bore is not None:
        space.add_circle((0, 0), template.bore / 2 * mm, dxfattribs={"layer": "bore"})
    for x, y in template.holes * mm:
        space.add_circle((x, y), template.hole / 2 * mm, dxfattribs={"layer": "holes"})
        if template.lug is not None:
            space.add_circle((x, y), template.lug / 2 * mm, dxfattribs={"layer": "lugs"})
    reach = 0.6 * template.boss * mm
    for angle in template.blade_angles:
        space.add_line((0, 0), (reach * sin(angle), reach * cos(angle)), dxfattribs={"layer": "blade-lines"})
    note = space.add_text(words, height=3.5, dxfattribs={"layer": "notes"})
    note.set_placement((-template.boss / 2 * mm, -template.boss / 2 * mm - 10))
    return _written(document)


def station_dxf(templates: Sequence[StationTemplate]) -> bytes:
    """The sections one under another on their flat faces, each with its radius written beside it."""
    document = _new("sections", "rotation-planes", "axes", "notes")
    space = document.modelspace()
    down = 0.0
    for template in templates:
        down -= template.thickness * 1000 + GAP
        points = [(u * 1000, v * 1000 + down) for u, v in template.outline]
        space.add_lwpolyline(points, close=True, dxfattribs={"layer": "sections"})
        (x0, y0), (x1, y1) = template.rotation_plane(template.chord)
        plane = ((x0 * 1000, y0 * 1000 + down), (x1 * 1000, y1 * 1000 + down))
        space.add_line(*plane, dxfattribs={"layer": "rotation-planes"})
        space.add_circle((0, down), 1.0, dxfattribs={"layer": "axes"})
        note = space.add_text(f"r {template.r * 1000:.1f} mm", height=3.5, dxfattribs={"layer": "notes"})
        note.set_placement((template.chord * 1000, down))
    return _written(document)
