"""Recommended sizes: three characters, limits kept or named, and what direct solving says of them."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.propeller.atmosphere import Air
from quoting.propeller.blade import Blade
from quoting.propeller.matching import Powerplant, Speeds, performance
from quoting.propeller.recommend import TOP_SPEED_RATIO, Character, Limits, recommend, rule_diameter

INCH, MPH, HORSEPOWER = 0.0254, 0.44704, 745.69987
SIXTY_FIVE = Powerplant(65 * HORSEPOWER, 2300 / 60)
FAST_TURNING = Powerplant(150 * HORSEPOWER, 2700 / 60)
few = settings(max_examples=15, deadline=None)


def _by_character(plant=SIXTY_FIVE, mph=97, limits=None, **changes):
    return {r.character: r for r in recommend(plant, Speeds(top=mph * MPH), limits, **changes)}


def test_the_standard_one_comes_first_and_all_three_are_offered():
    assert [r.character for r in recommend(SIXTY_FIVE, Speeds(top=97 * MPH))] == list(TOP_SPEED_RATIO)


def test_pitch_grows_from_climb_over_standard_to_cruise():
    offers = _by_character()
    pitches = [offers[c].pitch for c in (Character.CLIMB, Character.STANDARD, Character.CRUISE)]
    assert sorted(pitches) == pitches
    assert pitches[0] < pitches[2]


def test_each_gives_up_what_it_should():
    offers = _by_character()
    assert offers[Character.CLIMB].climb_thrust > offers[Character.CRUISE].climb_thrust
    assert offers[Character.CLIMB].top_speed > offers[Character.CRUISE].top_speed
    assert "over rated" in offers[Character.CLIMB].gives_up
    assert "Gives up" in offers[Character.CRUISE].gives_up


@few
@given(st.floats(50, 130), st.floats(2000, 2800), st.floats(90, 140))
def test_solving_directly_confirms_the_chart(horsepower, rpm, mph):
    plant, speeds = Powerplant(horsepower * HORSEPOWER, rpm / 60), Speeds(top=mph * MPH)
    for offer in recommend(plant, speeds):
        result = performance(Blade.wooden(diameter=offer.diameter, pitch=offer.pitch), plant, speeds)
        assert offer.top_speed == pytest.approx(result.top.speed, rel=0.02)
        assert offer.static_speed == pytest.approx(result.static.speed, rel=0.025)


@few
@given(st.floats(1.3, 1.9))
def test_clearance_is_never_passed(largest):
    for offer in recommend(SIXTY_FIVE, Speeds(top=97 * MPH), Limits(diameter_max=largest)):
        assert offer.diameter <= largest + 1e-9


def test_a_tight_clearance_is_named_as_the_bound():
    offer = _by_character(limits=Limits(diameter_max=66 * INCH))[Character.STANDARD]
    assert offer.diameter == pytest.approx(66 * INCH)
    assert "clearance" in offer.limited_by


def test_a_wish_for_quiet_lowers_the_tip_speed():
    loud = _by_character(FAST_TURNING, 142)[Character.STANDARD]
    quiet = _by_character(FAST_TURNING, 142, Limits(quiet=True))[Character.STANDARD]
    assert quiet.tip_mach <= 0.805 < loud.tip_mach
    assert quiet.diameter < loud.diameter


@pytest.mark.parametrize(("horsepower", "rpm", "mph"), [(150, 2700, 142), (60, 3600, 110), (900, 2700, 97)])
def test_no_offer_runs_its_tips_past_the_limit(horsepower, rpm, mph):
    """Rounding to half inches and the chart's rpm leave it a hundredth; what cannot be turned is not offered at all."""
    offers = _by_character(Powerplant(horsepower * HORSEPOWER, rpm / 60), mph)
    assert all(offer.tip_mach <= 0.865 for offer in offers.values()), offers


@pytest.mark.parametrize(
    ("horsepower", "rpm", "slow", "fast"),
    [
        (65, 2300, 60, 190),
        (100, 5800 * 21 / 51, 60, 200),
        (50, 3200, 60, 160),
        (150, 2700, 90, 210),
        (90, 1400, 50, 110),
    ],
)
def test_a_mile_an_hour_moves_the_diameter_by_an_inch_at_most(horsepower, rpm, slow, fast):
    plant = Powerplant(horsepower * HORSEPOWER, rpm / 60)
    sizes = [_by_character(plant, mph)[Character.STANDARD].diameter / INCH for mph in range(slow, fast + 1)]
    assert max(abs(a - b) for a, b in itertools.pairwise(sizes)) <= 1.0 + 1e-9


def test_tips_are_kept_below_nine_hundred_feet_a_second():
    radial = Powerplant(225 * HORSEPOWER, 2100 / 60)
    for offer in _by_character(radial, 124).values():
        assert math.pi * offer.diameter * offer.top_speed < 900 * 0.3048 * 1.04
    assert _by_character(radial, 124)[Character.STANDARD].limited_by == "tip speed"


def test_a_size_for_a_high_field_is_held_to_the_static_rpm_it_has_at_sea_level():
    assert "static rpm" not in _by_character(FAST_TURNING, 100)[Character.STANDARD].limited_by
    assert "static rpm" in _by_character(FAST_TURNING, 80, air=Air.at(3000))[Character.STANDARD].limited_by


def test_three_blades_are_smaller_than_two():
    assert _by_character(blades=3)[Character.STANDARD].diameter < _by_character()[Character.STANDARD].diameter


def test_a_large_boss_keeps_the_diameter_up():
    with pytest.raises(ValueError, match=r"diameter: No diameter is left: at most 47\.2 in"):
        recommend(SIXTY_FIVE, Speeds(top=97 * MPH), Limits(diameter_max=1.2, boss_diameter=14 * INCH))


def test_sizes_come_in_half_inches():
    for offer in _by_character().values():
        assert offer.diameter / INCH * 2 == pytest.approx(round(offer.diameter / INCH * 2), abs=1e-6)
        assert offer.pitch / INCH * 2 == pytest.approx(round(offer.pitch / INCH * 2), abs=1e-6)


def test_without_a_top_speed_there_is_no_recommendation():
    with pytest.raises(ValueError, match="top_speed: needed"):
        recommend(SIXTY_FIVE, Speeds())


@given(st.floats(10e3, 300e3), st.floats(20, 60), st.floats(25, 90), st.floats(1.01, 2))
def test_the_diameter_rule_grows_with_power_and_shrinks_with_rpm_and_speed(power, speed, top, more):
    plain = rule_diameter(power, speed, top)
    assert rule_diameter(more * power, speed, top) > plain
    assert rule_diameter(power, more * speed, top) < plain
    assert rule_diameter(power, speed, more * top) < plain
