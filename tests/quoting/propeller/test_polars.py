"""The sections' lift and drag: the table, its flat-plate ends, and polars given from outside."""

import numpy as np
import pytest

from quoting.propeller.polars import clark_y_family, extended, given


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


def test_past_the_stall_a_section_is_a_flat_plate():
    lift, drag = _at(60)
    assert lift == pytest.approx(2 * np.sin(np.pi / 3) * np.cos(np.pi / 3), rel=1e-6)
    assert drag == pytest.approx(2 * np.sin(np.pi / 3) ** 2 + 0.02, rel=1e-6)


def test_drag_is_positive_everywhere():
    assert clark_y_family().drag.min() > 0


def test_extending_keeps_the_given_curve_below_the_stall():
    alpha = np.arange(-10.0, 21.0)
    lift = np.where(alpha < 14, 0.1 * alpha + 0.3, 1.6 - 0.05 * (alpha - 14))
    kept, _ = extended(alpha, lift, np.full_like(alpha, 0.01), np.array([0.0, 5.0, 10.0]))
    assert kept == pytest.approx([0.3, 0.8, 1.3])


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
