"""Permissible unbalance by the standard and the worksheet that brings a propeller into balance."""

from math import cos, radians, sin

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from quoting.propeller.balance import Action, levelled, permissible, rotating_force, worksheet

GRAM_MM = 1e-6


# U = 1000 G m / Omega (ISO 21940-11:2016); worked out to the printed digits
@pytest.mark.parametrize(
    ("mass", "rpm", "grade", "offset_um", "unbalance"),
    [
        (5.0, 2750, 6.3, 21.877, 109.38),
        (4.0, 2300, 6.3, 26.157, 104.63),
        (3.2, 2387, 16, 64.009, 204.83),
        (12, 1250, 16, 122.231, 1466.8),
        (100, 3000, 6.3, 20.054, 2005.4),
    ],
)
def test_permissible_unbalance_follows_the_standard(mass, rpm, grade, offset_um, unbalance):
    allowed = permissible(mass, rpm / 60, grade=grade)
    assert allowed.offset * 1e6 == pytest.approx(offset_um, abs=0.001)
    assert allowed.by_grade / GRAM_MM == pytest.approx(unbalance, rel=1e-4)


# 912 and 914 installation manuals: at most 0.5 g m of static unbalance, whatever the mass
def test_the_engine_makers_limit_binds_a_heavy_propeller():
    assert permissible(100, 50, engine_limit=500 * GRAM_MM).unbalance == 500 * GRAM_MM
    assert permissible(4, 2300 / 60, engine_limit=500 * GRAM_MM).unbalance < 500 * GRAM_MM


def test_a_grade_the_standard_does_not_have_is_refused():
    with pytest.raises(ValueError, match="grade: 6 given, accepted are 0.4, 1, 2.5, 6.3"):
        permissible(4, 40, grade=6)


# 500 g mm at 2400 rpm turn with 31.6 N
def test_unbalance_pulls_with_the_square_of_the_speed():
    assert rotating_force(500 * GRAM_MM, 2400 / 60) == pytest.approx(31.6, abs=0.05)


def hung(blades, moments, *, permitted=0.0, **changes):
    values = {"radius": 0.75, "boss_radius": 0.075, "density": 690.0} | changes
    return worksheet(blades, moments, permitted, **values)


# m1 r1 = m2 r2: 3 g heavy at 0.85 m is balanced by 21.25 g at 0.12 m
def test_a_heavy_blade_is_matched_moment_for_moment():
    sheet = hung(2, (0.003 * 0.85, 0.0), radius=0.12)
    (varnish,) = sheet.additions
    assert varnish.place == "blade 2"
    assert varnish.mass == pytest.approx(0.02125)


def test_wood_comes_off_the_heavy_blade_by_its_density():
    (cut,) = hung(2, (0.001, 0.0)).removals
    assert cut.place == "blade 1"
    assert cut.volume == pytest.approx(0.001 / 0.75 / 690)


def test_blades_upright_the_heavy_side_is_met_on_the_boss():
    sheet = hung(2, (0.0, 0.0), across=-0.0004)
    assert [c.place for c in sheet.additions] == ["boss, right of blade 1"]
    assert sheet.additions[0].radius == 0.075
    assert sheet.heavy_angle == pytest.approx(270)


def test_within_what_may_stay_nothing_is_done():
    sheet = hung(2, (0.0001, 0.0), permitted=0.000105)
    assert sheet.within
    assert sheet.corrections == ()


def vector(corrections):
    signs = {Action.ADD_VARNISH: 1, Action.REMOVE_WOOD: -1}
    return (
        sum(signs[c.action] * c.moment * cos(radians(c.angle)) for c in corrections),
        sum(signs[c.action] * c.moment * sin(radians(c.angle)) for c in corrections),
    )


@given(
    st.sampled_from([2, 3, 4]), st.lists(st.floats(0, 0.01), min_size=4, max_size=4), st.floats(-0.01, 0.01)
)
def test_either_way_alone_brings_it_to_balance(blades, moments, across):
    sheet = hung(blades, moments[:blades], across=across if blades == 2 else 0.0)
    assume(sheet.unbalance > 1e-6)
    heavy = (
        sheet.unbalance * cos(radians(sheet.heavy_angle)),
        sheet.unbalance * sin(radians(sheet.heavy_angle)),
    )
    for way in (sheet.additions, sheet.removals):
        assert len(way) <= 2
        done = vector(way)
        assert (done[0] + heavy[0], done[1] + heavy[1]) == pytest.approx((0, 0), abs=5e-8)


def test_three_equally_heavy_blades_are_in_balance():
    assert hung(3, (0.002, 0.002, 0.002)).unbalance == pytest.approx(0, abs=1e-15)


def test_a_heavy_blade_of_three_is_matched_on_the_other_two():
    sheet = hung(3, (0.002, 0.0, 0.0))
    assert [c.place for c in sheet.additions] == ["blade 2", "blade 3"]
    assert [c.moment for c in sheet.additions] == pytest.approx([0.002, 0.002])


def test_moments_for_too_few_blades_are_refused():
    with pytest.raises(ValueError, match="heavy_moments: 2 given for 3 blades"):
        hung(3, (0.001, 0.0))
    with pytest.raises(ValueError, match="heavy_moments"):
        hung(2, (float("nan"), 0.0))


@given(st.sampled_from([3, 4]), st.floats(1e-6, 0.01), st.floats(0, 360))
def test_blades_laid_level_in_turn_give_back_the_unbalance_that_made_them_sink(blades, size, angle):
    readings = [size * cos(radians(angle - 360 / blades * i)) for i in range(blades)]
    found = levelled(readings)
    sheet = hung(blades, found.moments)
    assert sheet.unbalance == pytest.approx(size, rel=1e-3, abs=2e-8)
    assert found.misfit == pytest.approx(0, abs=1e-12)


def test_readings_that_contradict_each_other_show_a_misfit():
    # all three blades cannot sink at once
    assert levelled((0.001, 0.001, 0.001)).misfit == pytest.approx(0.001)


def test_two_blades_are_not_levelled_in_turn():
    with pytest.raises(ValueError, match="2 given"):
        levelled((0.001, -0.001))
