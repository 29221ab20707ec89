"""The blade's geometry: constant pitch, tip forms, hand, section properties and what a bad table is told."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.propeller.blade import Blade, Reference
from quoting.propeller.catalogue import Hand, TipForm
from quoting.propeller.sections import outline, properties

INCH = 0.0254
COLUMNS = {
    "diameter": 1.8,
    "blades": 2,
    "r_R": [0.3, 0.6, 0.9],
    "c_R": [0.1, 0.1, 0.1],
    "t_c": [0.117, 0.117, 0.117],
    "beta_deg": [20, 15, 10],
}
diameters = st.floats(0.5, 3.0)
ratios = st.floats(0.3, 1.3)


# true-pitch 72 x 44: angle by station in inches, computed from tan(beta) = P / (2 pi r)
@pytest.mark.parametrize(
    ("inches", "degrees"), [(12, 30.27), (18, 21.26), (24, 16.27), (27, 14.54), (33, 11.98)]
)
def test_a_72_by_44_has_the_true_pitch_angles(inches, degrees):
    blade = Blade.wooden(diameter=72 * INCH, pitch=44 * INCH)
    assert np.degrees(blade.angle_rad(inches / 36)) == pytest.approx(degrees, abs=0.01)


@given(diameters, ratios)
def test_pitch_is_the_same_at_every_station(diameter, ratio):
    blade = Blade.wooden(diameter=diameter, pitch=ratio * diameter)
    assert blade.pitch_m(np.linspace(0.15, 1, 57)) == pytest.approx(ratio * diameter, rel=1e-9)


def test_the_generic_planform_has_the_activity_factor_of_its_source():
    assert Blade.wooden(diameter=1.8, pitch=1.1).activity_factor == pytest.approx(86, rel=0.01)


@given(st.floats(0.7, 1.3))
def test_a_chord_factor_widens_every_chord_and_leaves_the_thickness_ratio(factor):
    plain = Blade.wooden(diameter=1.8, pitch=1.1)
    wide = Blade.wooden(diameter=1.8, pitch=1.1, chord_factor=factor)
    assert wide.c_R == pytest.approx(factor * plain.c_R)
    assert (wide.t_c == plain.t_c).all()


@pytest.mark.parametrize("tip", TipForm)
def test_every_tip_form_closes_at_full_radius_and_leaves_the_inner_blade_alone(tip):
    blade, plain = (Blade.wooden(diameter=1.8, pitch=1.1, tip_form=form) for form in (tip, TipForm.ROUND))
    assert blade.chord_m(1.0) < 0.1 * blade.chord_m(0.9)
    assert blade.chord_m(np.linspace(0.15, 0.55)) == pytest.approx(plain.chord_m(np.linspace(0.15, 0.55)))


def test_only_the_scimitar_sweeps_its_axis_before_the_tip():
    swept = {tip: float(Blade.wooden(diameter=1.8, pitch=1.1, tip_form=tip).sweep_m(0.9)) for tip in TipForm}
    assert [tip for tip, offset in swept.items() if offset > 0] == [TipForm.SCIMITAR]


def test_a_square_tip_is_cut_from_the_leading_edge():
    blade = Blade.wooden(diameter=2.0, pitch=1.1, tip_form=TipForm.SQUARE_RAKED)
    lead, trail = blade.edges_m([0.97, 0.999])
    assert lead[1] - lead[0] > 5 * abs(trail[1] - trail[0])


def test_a_mirrored_blade_differs_in_hand_only():
    blade = Blade.wooden(diameter=1.8, pitch=1.1)
    other = blade.mirrored()
    assert other.hand is Hand.LEFT
    assert (other.beta == blade.beta).all()
    assert other.mirrored().hand is blade.hand


def test_arrays_cannot_be_written_to():
    with pytest.raises(ValueError, match="read-only"):
        Blade.wooden(diameter=1.8, pitch=1.1).c_R[0] = 1.0


def test_green_formulas_find_a_rectangle():
    box = properties(np.array([[0, 0], [3, 0], [3, 2], [0, 2.0]]))
    assert (box.area, box.u, box.v) == (6, 1.5, 1)
    assert (box.i_uu, box.i_vv, box.i_uv) == pytest.approx((2, 4.5, 0))


# Clark-Y: A = 0.694 c t, extreme fibre 0.56 t above the centroid (computed from the ordinates)
def test_a_clark_y_section_has_the_known_area_and_a_flat_face():
    points = outline(1.0, 0.117)
    section = properties(points)
    assert section.area == pytest.approx(0.694 * 0.117, rel=0.005)
    assert section.v_top == pytest.approx(0.58 * 0.117, rel=0.02)
    face = points[32:][points[32:, 0] > 0.3 - 0.35]
    assert np.abs(face[:, 1]).max() == 0


@given(st.floats(0.02, 0.4), st.floats(0.06, 0.5))
def test_section_properties_scale_with_chord_and_thickness(chord, ratio):
    unit, ours = properties(outline(1.0, 1.0)), properties(outline(chord, ratio * chord))
    assert ours.area == pytest.approx(unit.area * chord**2 * ratio)
    assert ours.i_uu == pytest.approx(unit.i_uu * chord**4 * ratio**3)


def test_the_trailing_edge_keeps_the_wood_it_was_asked_to_keep():
    points = outline(0.1, 0.01, edge=0.0025)
    assert points[0, 1] == pytest.approx(0.0025)


def test_an_angle_to_the_chord_line_is_larger_than_to_the_face():
    chord = Blade.from_table(**COLUMNS, reference=Reference.CHORD_LINE)
    assert np.degrees(chord.angle_rad(0.6)) == pytest.approx(15 - 1.97, abs=0.01)
    assert np.degrees(chord.chord_line_angle_rad(0.6)) == pytest.approx(15)


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("diameter", {"diameter": float("nan")}),
        ("diameter", {"diameter": 1e9}),
        ("diameter", {"diameter": -1.8}),
        ("pitch", {"pitch": float("inf")}),
        ("pitch/diameter", {"pitch": 0.0762, "diameter": 2.286}),
        ("blades", {"blades": 7}),
        ("chord_factor", {"chord_factor": 0.0}),
    ],
)
def test_a_wooden_blade_that_cannot_be_is_refused_by_name(field, change):
    with pytest.raises(ValueError, match=f"^{field}: .* accepted are"):
        Blade.wooden(**({"diameter": 1.8, "pitch": 1.1} | change))


@pytest.mark.parametrize(
    ("message", "change"),
    [
        ("c_R: row 2: nan", {"c_R": [0.1, float("nan"), 0.1]}),
        ("r_R: row 3: stations must rise", {"r_R": [0.3, 0.6, 0.6]}),
        ("beta_deg: row 1: 95", {"beta_deg": [95, 15, 10]}),
        ("t_c: 2 values given for 3 stations", {"t_c": [0.1, 0.1]}),
        ("r_R: 1 stations given", {"r_R": [0.3]}),
    ],
)
def test_a_bad_table_is_told_its_column_and_row(message, change):
    with pytest.raises(ValueError, match=message):
        Blade.from_table(**(COLUMNS | change))
