"""The boss as geometry: wood left at edge and web, holes where the pattern puts them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.propeller.assessment import assess
from quoting.propeller.blade import Blade
from quoting.propeller.catalogue import Hand
from quoting.propeller.checks.words import length
from quoting.propeller.finding import Severity
from quoting.propeller.hub import THICKEST_BOSS, USUAL_BOSS_THICKNESS, boss, deep_enough
from quoting.propeller.specification import Hardware
from tests.quoting.samples import INCH, metric_80, sae1, specification


# SAE 1 holes on a 5-1/4 in boss: (5.25 - 4.375 - 0.390625)/2 and (4.375 - 2.25 - 0.390625)/2 in
def test_an_sae_1_boss_keeps_a_quarter_inch_of_edge_wood():
    shape = boss(specification(hub=sae1(lug_diameter=None), boss_diameter=5.25 * INCH))
    assert shape.edge_wood == pytest.approx(0.242 * INCH, abs=0.0005 * INCH)
    assert shape.bore_web == pytest.approx(0.867 * INCH, abs=0.0005 * INCH)


def test_lug_counterbores_eat_into_the_edge_wood():
    plain = boss(specification(hub=sae1(lug_diameter=None)))
    lugged = boss(specification())
    assert plain.edge_wood - lugged.edge_wood == pytest.approx((0.625 - 25 / 64) / 2 * INCH)
    assert lugged.edge_wood_at_hole == plain.edge_wood


def test_six_holes_stand_a_radius_apart():
    holes = boss(specification()).holes
    gaps = np.hypot(*(holes - np.roll(holes, -1, axis=0)).T)
    assert gaps == pytest.approx(np.full(6, 4.375 / 2 * INCH))


def test_unclocked_the_first_hole_lies_on_the_blade():
    assert boss(specification()).holes[0] == pytest.approx([0.0, 4.375 / 2 * INCH])
    assert boss(specification(clocking=30.0)).nearest_hole_angle == pytest.approx(30.0)


@given(st.integers(2, 12), st.floats(-720, 720))
def test_holes_stay_on_their_circle_however_they_are_clocked(bolts, clocking):
    shape = boss(specification(hub=sae1(bolts=bolts), clocking=clocking))
    assert np.hypot(*shape.holes.T) == pytest.approx(np.full(bolts, shape.circle / 2))
    assert 0 <= shape.nearest_hole_angle <= 180 / bolts + 1e-9


def test_an_incomplete_pattern_has_no_holes_and_no_figures():
    shape = boss(specification(hub=sae1(circle=None)))
    assert shape.holes.shape == (0, 2)
    assert shape.edge_wood is None
    assert shape.bore_web is None


def test_plate_and_spacer_make_the_bolts_longer():
    bare = boss(specification()).bolt_length_needed
    hardware = Hardware(face_plate_thickness=0.006, spacer_thickness=0.050)
    assert boss(specification(hardware=hardware)).bolt_length_needed == pytest.approx(bare + 0.056)


def test_cut_wood_is_bore_holes_and_counterbores():
    shape = boss(specification(hub=metric_80()))
    by_hand = np.pi / 4 * (0.047**2 + 6 * 0.0115**2) * 0.080
    assert shape.removed_volume == pytest.approx(by_hand)
    assert (
        boss(specification()).removed_volume > boss(specification(hub=sae1(lug_diameter=None))).removed_volume
    )


LARGE = {"diameter": 2.75, "pitch": 2.2, "engine": None, "airframe": None, "hub_height": None}


def test_a_boss_whose_thickness_is_ours_is_as_deep_as_the_blade_that_leaves_it_in_whole_millimetres():
    done = assess(specification(hub=sae1(boss_thickness=None), **LARGE))
    thickness = done.boss.thickness
    assert thickness == done.specification.boss_thickness
    assert 0.140 < done.surface.deepest <= thickness < done.surface.deepest + 0.003
    assert thickness * 1000 == pytest.approx(round(thickness * 1000))
    assert "blade-deeper-than-boss" not in {f.code for f in done.findings}


def test_a_propeller_whose_blade_is_shallow_keeps_the_usual_thickness():
    small = {"diameter": 54 * INCH, "pitch": 24 * INCH}
    done = assess(specification(hub=sae1(boss_thickness=None), **small))
    assert done.boss.thickness == USUAL_BOSS_THICKNESS


def test_a_thickness_given_or_published_is_kept_and_a_deeper_blade_is_told_with_both_figures():
    published = assess(specification(hub=sae1(), **LARGE))
    given = assess(specification(hub=sae1(boss_thickness=None), boss_thickness=0.1, **LARGE))
    for done, kept in ((published, 4 * INCH), (given, 0.1)):
        assert done.boss.thickness == pytest.approx(kept)
        told = [f for f in done.findings if f.code == "blade-deeper-than-boss"]
        assert [(f.severity, f.field) for f in told] == [(Severity.CAUTION, "boss_thickness")]
        assert told[0].figure == done.surface.deepest
        assert length(told[0].figure, "in") in told[0].message and length(kept, "in") in told[0].message


def test_a_chosen_thickness_stays_when_what_was_resolved_is_assessed_again():
    done = assess(specification(hub=sae1(boss_thickness=None), **LARGE))
    again = assess(done.specification)
    assert (again.specification, again.measures) == (done.specification, done.measures)


def test_a_boss_is_never_thicker_than_what_is_computed():
    blade = Blade.wooden(diameter=144 * INCH, pitch=150 * INCH, blades=2, hand=Hand.RIGHT, chord_factor=1.25)
    assert deep_enough(blade, 0.15) <= THICKEST_BOSS
