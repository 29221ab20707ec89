"""The bolted joint: torque to clamp, clamp to crushing and friction."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.propeller.hub import boss
from quoting.propeller.joint import bolt_force, joint, peak_factor, propeller_torque
from tests.quoting.samples import (
    HORSEPOWER,
    INCH,
    birch,
    engine_65,
    engine_geared,
    mahogany,
    poplar,
    published,
    sae1,
    specification,
)

POUND_INCH = 0.1129848
POUND = 4.4482216152605
PSI = 6894.757


# F = T/(K d): 200 lbf in on 3/8 in bolts with K 0.20 pull 2667 lbf each
def test_torque_pulls_the_bolt_by_the_nut_factor():
    assert bolt_force(200 * POUND_INCH, 0.375 * INCH) == pytest.approx(2667 * POUND, rel=1e-3)


def plain(**changes):
    """The 5-1/4 in plate of the worked example, without counterbores."""
    hub = sae1(lug_diameter=None, plate_diameter=published(5.25 * INCH, ""), **changes)
    return boss(specification(hub=hub))


# worked: 16 000 lbf on a 5-1/4 in plate with a 2-1/4 in bore is 944 psi, 0.97 of yellow birch's limit
def test_the_clamp_presses_the_plates_face():
    pressed = joint(plain(), birch(), engine_65(), torque=200 * POUND_INCH)
    assert pressed.clamp == pytest.approx(16_000 * POUND, rel=1e-3)
    assert pressed.pressure == pytest.approx(944 * PSI, rel=2e-3)
    assert pressed.pressure / pressed.pressure_limit == pytest.approx(0.97, abs=0.01)


# same example: friction 0.3 at the annulus radius 1.975 in holds 9480 lbf in
def test_friction_holds_the_clamp_at_the_rings_mean_radius():
    held = joint(plain(), birch(), engine_65(), torque=200 * POUND_INCH)
    assert held.friction_torque == pytest.approx(9480 * POUND_INCH, rel=2e-3)


# SAE 1 on a 5-1/4 in boss, 57 mm bore, 27.1 N m: 85.4 kN, 7.8 MPa, 0.0502 m, 1285 N m
def test_the_sae_1_joint_of_a_light_aeroplane():
    shape = replace(plain(), bore=0.057)
    pressed = joint(shape, birch(), engine_65(), torque=27.1)
    assert pressed.clamp == pytest.approx(85.4e3, rel=2e-3)
    assert pressed.pressure == pytest.approx(7.8e6, rel=5e-3)
    assert shape.friction_radius == pytest.approx(0.0502, rel=2e-3)
    assert pressed.friction_torque == pytest.approx(1285, rel=5e-3)


# Q = 5252.11 hp/rpm lbf ft
@pytest.mark.parametrize(
    ("horsepower", "rpm", "expected"),
    [(65, 2300, 201.2), (85, 2575, 235.1), (180, 2700, 474.7), (80, 1200, 474.7)],
)
def test_mean_torque_is_power_over_angular_speed(horsepower, rpm, expected):
    engine = engine_65(
        rated_power=published(horsepower * HORSEPOWER, ""), rated_speed=published(rpm / 60, "")
    )
    assert propeller_torque(engine) == pytest.approx(expected, abs=0.1)


def test_a_gearbox_multiplies_the_torque():
    assert propeller_torque(engine_geared()) == pytest.approx(
        80 * HORSEPOWER / (6.28319 * 5800 / 60) * 51 / 21, rel=1e-5
    )


def test_fewer_cylinders_hammer_harder():
    factors = [peak_factor(n) for n in range(1, 10)]
    assert factors == sorted(factors, reverse=True)
    assert peak_factor(None) >= peak_factor(4)


def test_soft_wood_caps_the_recommended_torque():
    soft = joint(plain(), poplar(), engine_65())
    assert soft.torque_recommended < soft.torque_low
    assert soft.pressure == pytest.approx(0.9 * soft.pressure_limit)


def test_without_published_crushing_no_maximum_is_given():
    bare = joint(plain(), mahogany(), engine_65())
    assert bare.torque_maximum is None
    assert bare.pressure_limit is None
    assert bare.torque_recommended == bare.torque_low


def test_plated_threads_are_given_the_torque_that_pulls_as_hard():
    clamped = joint(plain(), birch(), engine_65())
    assert bolt_force(clamped.torque_plated, 0.375 * INCH, 0.15) == pytest.approx(clamped.bolt_force)
    assert clamped.torque_plated < clamped.torque_maximum < clamped.torque_maximum_dry


def test_the_smaller_of_flange_and_plate_is_pressed_hardest():
    small = boss(specification(hub=sae1(flange_diameter=published(5.0 * INCH, ""))))
    assert (
        joint(small, birch(), engine_65()).torque_maximum
        < joint(plain(), birch(), engine_65()).torque_maximum
    )
    assert small.friction_radius < plain().friction_radius


def test_lubricated_threads_press_a_third_harder():
    pressed = joint(plain(), birch(), engine_65())
    assert pressed.pressure_mistaken / pressed.pressure == pytest.approx(4 / 3)


@given(st.floats(1, 60), st.floats(0.1, 20))
def test_more_torque_never_holds_less(torque, more):
    first, second = (joint(plain(), birch(), engine_65(), torque=t) for t in (torque, torque + more))
    assert second.friction_torque > first.friction_torque
    assert second.pressure > first.pressure
