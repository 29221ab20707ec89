"""Templates as geometry: refused when a figure is missing, tiled without a gap, the same points as DXF."""

import io
from dataclasses import replace

import ezdxf
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.propeller.blade import Blade
from quoting.propeller.dxf import drill_dxf, station_dxf
from quoting.propeller.figure import Figure, Trust
from quoting.propeller.hub import boss
from quoting.propeller.stations import station_radii, station_table
from quoting.propeller.template import (
    FOOT,
    MARGIN,
    PAPERS,
    IncompletePatternError,
    drill_template,
    pattern_template,
    station_templates,
    tiles,
    to_be_measured,
)
from tests.quoting.samples import INCH, sae1, specification

BOSS = boss(specification(clocking=17.0))
BLADE = Blade.wooden(diameter=72 * INCH, pitch=44 * INCH)


@pytest.mark.parametrize(
    ("figure", "words"),
    [("bolts", "number of holes"), ("circle", "bolt circle"), ("hole", "hole diameter")],
)
def test_a_pattern_that_lacks_a_figure_makes_no_template_and_the_figure_is_named(figure, words):
    with pytest.raises(IncompletePatternError, match=words):
        drill_template(replace(BOSS, **{figure: None}), 2)


@pytest.mark.parametrize(
    ("figure", "words"),
    [("circle", "bolt circle"), ("pilot", "bore"), ("lug_diameter", "drive lugs")],
)
def test_a_doubtful_figure_makes_no_template_and_names_its_source(figure, words):
    hub = sae1(**{figure: Figure(0.1, Trust.UNSURE, "a forum")})
    with pytest.raises(
        IncompletePatternError, match=rf"doubtful {words}.*a forum|doubtful diameter of the {words}"
    ):
        pattern_template(hub, BOSS, 2)


def test_what_nobody_has_read_is_to_be_measured_and_what_was_measured_is_not():
    hub = sae1(pilot=Figure(0.05715, Trust.MEMORY, "memory"))
    assert "bore (memory)" in to_be_measured(hub)
    measured = {
        field: Figure(0.1, Trust.MEASURED, "typed") for field in ("circle", "hole", "pilot", "lug_diameter")
    }
    assert to_be_measured(sae1(**measured)) == ""


def test_holes_that_break_out_or_run_together_make_no_template():
    with pytest.raises(ValueError, match="break out"):
        drill_template(replace(BOSS, diameter=0.115), 2)
    with pytest.raises(ValueError, match="into the bore"):
        drill_template(replace(BOSS, bore=0.105), 2)
    with pytest.raises(ValueError, match="one another"):
        drill_template(replace(BOSS, hole=0.060, bore=None, diameter=0.3), 2)


def test_neighbouring_holes_are_as_far_apart_as_the_template_says():
    template = drill_template(BOSS, 2)
    apart = np.linalg.norm(template.holes[0] - template.holes[1])
    assert template.neighbour_distance == pytest.approx(apart, rel=1e-9)


@given(st.floats(0.01, 0.9), st.floats(0.01, 0.9), st.sampled_from(sorted(PAPERS)))
def test_tiles_cover_the_whole_drawing_and_overlap(width, height, paper):
    sheets = tiles(width, height, paper)
    assert min(t.left for t in sheets) <= 1e-9 and min(t.top for t in sheets) <= 1e-9
    assert max(t.left + t.width for t in sheets) >= width - 1e-9
    assert max(t.top + t.height for t in sheets) >= height - 1e-9
    for tile in sheets:
        beside = [t for t in sheets if t.row == tile.row and t.column == tile.column + 1]
        assert all(t.left < tile.left + tile.width for t in beside)
        assert tile.width == pytest.approx(PAPERS[paper][0] - 2 * MARGIN)
        assert tile.height == pytest.approx(PAPERS[paper][1] - 2 * MARGIN - FOOT)


def test_an_unknown_paper_is_refused_by_name():
    with pytest.raises(ValueError, match="a4 and us-letter"):
        tiles(0.1, 0.1, "foolscap")


def test_the_machine_file_holds_the_pattern_in_millimetres_and_passes_its_own_audit():
    written = drill_dxf(drill_template(BOSS, 3), "72 x 44 in")
    document = ezdxf.read(io.StringIO(written.decode()))
    assert not document.audit().has_errors
    assert document.units == ezdxf.units.MM
    holes = document.modelspace().query('CIRCLE[layer=="holes"]')
    found = np.array([tuple(hole.dxf.center)[:2] for hole in holes])
    assert np.allclose(found, BOSS.holes * 1000, atol=1e-6)
    assert {round(hole.dxf.radius * 2, 6) for hole in holes} == {round(BOSS.hole * 1000, 6)}
    assert len(document.modelspace().query('LINE[layer=="blade-lines"]')) == 3


def test_the_machine_file_is_the_same_twice():
    assert drill_dxf(drill_template(BOSS, 2), "x") == drill_dxf(drill_template(BOSS, 2), "x")


def test_station_outlines_in_the_machine_file_are_the_blade_s():
    cut = station_templates(BLADE, [18 * INCH, 27 * INCH])
    document = ezdxf.read(io.StringIO(station_dxf(cut).decode()))
    outlines = document.modelspace().query('LWPOLYLINE[layer=="sections"]')
    widths = [np.ptp([p[0] for p in outline.get_points()]) for outline in outlines]
    assert widths == pytest.approx([float(BLADE.chord_m(x)) * 1000 for x in (0.5, 0.75)], rel=1e-9)


def test_a_station_off_the_blade_is_refused():
    with pytest.raises(ValueError, match="radii"):
        station_templates(BLADE, [1.0])


def test_stations_stand_at_round_radii_and_carry_the_blade_s_angle():
    table = station_table(BLADE, BOSS.diameter, BOSS.thickness, "in")
    assert [round(s.r / INCH, 6) for s in table] == [4, 8, 12, 16, 20, 24, 28, 32]
    at_three_quarters = np.interp(
        27, [s.r / INCH for s in table], [np.tan(np.radians(s.angle)) for s in table]
    )
    assert at_three_quarters == pytest.approx(44 / (2 * np.pi * 27), rel=0.02)


def test_only_stations_near_the_boss_are_marked_as_root_and_they_are_as_deep_as_the_boss():
    table = station_table(BLADE, BOSS.diameter, BOSS.thickness, "in")
    assert [s.in_root for s in table] == [True, True] + [False] * 6
    assert table[0].front + table[0].back > 0.9 * BOSS.thickness


@pytest.mark.parametrize("diameter", [0.9, 1.2, 1.83, 2.6])
@pytest.mark.parametrize("units", ["in", "mm"])
def test_a_table_of_stations_has_from_four_to_nine_rows(diameter, units):
    blade = Blade.wooden(diameter=diameter, pitch=0.6 * diameter)
    radii = station_radii(blade, 0.15, units)
    assert 4 <= len(radii) <= 9
    assert radii == sorted(radii) and radii[-1] < blade.radius
