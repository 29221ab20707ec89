"""The sections' lift and drag: the table, its stalled ends, and polars given from outside."""

import numpy as np
import pytest

from quoting.propeller.polars import clark_y_family, given, separated, zero_lift


def _at(alpha_deg, t_c=0.12, log10_reynolds=6.0):
    polar = clark_y_family()
    lift, drag = polar.at_thickness(np.array([t_c]))
    level = int(np.argmin(np.abs(polar.log10_reynolds - log10_reynolds)))
    place = int(np.argmin(np.abs(polar.alpha - np.radians(alpha_deg))))
    return lift[0, level, place], drag[0, level, place]


# NACA TR 431 (from memory): about 0.1 of lift per degree, stall between 13 and 18 degrees of chord-line angle
def test_the_clark_y_lifts_a_tenth_per_degree():
    assert (_at(6)[0] - _at(0)[0]) / 6 == pytest.approx(0.105, abs=0.012)


def test_a_thick_section_lifts_more_at_no_incidence_because_its_camber_grows():
    assert _at(0, t_c=0.15)[0] > _at(0, t_c=0.12)[0] > _at(0, t_c=0.08)[0]


def test_drag_falls_with_reynolds_number():
    assert _at(4, log10_reynolds=6.6)[1] < _at(4, log10_reynolds=5.1)[1]


# Hoerner, Fluid-Dynamic Lift, stalled plate (from memory): cn = 1 / (0.222 + 0.283 / sin a)
def test_past_the_stall_a_section_is_pressed_like_a_stalled_plate():
    lift, drag = separated(np.array([30.0, 90.0]))
    assert np.hypot(lift, drag - 0.02) == pytest.approx([1.269, 1.980], abs=1e-3)
    assert lift / (drag - 0.02) == pytest.approx([np.tan(np.pi / 3), 0], abs=1e-9)


def test_the_table_ends_in_the_stalled_plate_and_camber_keeps_some_lift_at_no_incidence():
    assert _at(90)[1] == pytest.approx(separated(np.array([90.0]))[1][0], rel=1e-6)
    assert separated(np.array([0.0]), -4.0)[0][0] > 0.1


@pytest.mark.parametrize("log10_reynolds", [4.2, 5.4, 6.6])
@pytest.mark.parametrize("t_c", [0.06, 0.12, 0.3])
def test_lift_passes_smoothly_from_the_table_to_the_plate(t_c, log10_reynolds):
    lift, drag = np.transpose([_at(angle, t_c, log10_reynolds) for angle in range(0, 90)])
    assert np.abs(np.diff(lift)).max() < 0.25
    assert (np.diff(drag[20:]) > -0.01).all()


def test_no_lift_is_found_between_two_angles():
    alpha = np.arange(-10.0, 11.0)
    assert zero_lift(alpha, 0.1 * (alpha + 3.4)) == pytest.approx(-3.4)
    assert zero_lift(alpha, np.ones_like(alpha)) == 0.0


def test_drag_is_positive_everywhere():
    assert clark_y_family().drag.min() > 0


def test_a_published_polar_is_used_as_printed_from_end_to_end():
    alpha = np.arange(-10.0, 21.0)
    lift = np.where(alpha < 14, 0.1 * alpha + 0.3, 1.7 - 0.05 * (alpha - 14))
    polar = given(alpha, lift, np.full_like(alpha, 0.01))
    inside = np.abs(np.degrees(polar.alpha) - 5) <= 15
    printed = np.interp(np.degrees(polar.alpha[inside]), alpha, lift)
    assert polar.lift[0, 0, inside] == pytest.approx(printed)
    assert polar.drag[0, 0, -1] == pytest.approx(separated(np.array([90.0]))[1][0])


@pytest.mark.parametrize(
    ("message", "alpha", "cl"),
    [
        ("alpha_deg: row 3: angles must rise", [-10, 0, 0, 10, 20], [0, 1, 1, 1, 1]),
        ("cl: row 2: nan", [-10, 0, 5, 10, 20], [0, float("nan"), 1, 1, 1]),
        ("must reach from -5 to 10", [0, 1, 2, 3, 4], [0, 1, 1, 1, 1]),
        ("at least 5 rows", [0, 10], [0, 1]),
    ],
)
def test_a_bad_polar_is_told_what_is_wrong(message, alpha, cl):
    with pytest.raises(ValueError, match=message):
        given(alpha, cl, [0.01] * len(alpha))


def test_a_section_that_is_pushed_by_the_air_is_refused():
    with pytest.raises(ValueError, match="cd: row 3: -1 given, accepted is 0 or more"):
        given([-10, -5, 0, 5, 10], [-0.5, 0, 0.4, 0.9, 1.3], [0.02, 0.01, -1, 0.01, 0.02])
