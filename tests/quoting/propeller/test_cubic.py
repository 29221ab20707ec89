"""The cubics through points against scipy's."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline, PchipInterpolator

from quoting.propeller import sections
from quoting.propeller.cubic import PiecewiseCubic

ORDINATES = st.lists(st.integers(-10_000, 10_000).map(lambda n: n / 1000), min_size=3, max_size=12)


@given(ORDINATES, st.randoms(use_true_random=False))
def test_it_equals_scipys_pchip_at_and_between_the_points(ordinates, random):
    x = np.cumsum([random.uniform(0.05, 2.0) for _ in ordinates])
    at = np.linspace(x[0], x[-1], 57)
    ours, theirs = PiecewiseCubic.monotone(x, ordinates)(at), PchipInterpolator(x, ordinates)(at)
    assert np.allclose(ours, theirs, rtol=1e-9, atol=1e-9)


@given(ORDINATES.filter(lambda given: len(given) > 3), st.randoms(use_true_random=False))
def test_the_fair_curve_equals_scipys_spline(ordinates, random):
    x = np.cumsum([random.uniform(0.2, 2.0) for _ in ordinates])
    at = np.linspace(x[0], x[-1], 57)
    assert np.allclose(
        PiecewiseCubic.fair(x, ordinates)(at), CubicSpline(x, ordinates)(at), rtol=1e-7, atol=1e-7
    )


def test_a_blades_back_bends_evenly_on_its_template():
    """Second differences of the outline change from station to station by no more than a batten's would."""
    x = np.linspace(0.1, 0.9, 161)
    bend = np.diff(sections._BACK_LAW(np.sqrt(x)), 2)
    assert np.abs(np.diff(bend)).max() < 0.12 * np.abs(bend).max()


@pytest.mark.parametrize("x", [[0, 1], [0, 1, 1], [2, 1, 0]])
def test_points_that_do_not_rise_are_refused(x):
    with pytest.raises(ValueError, match="3 points with rising x"):
        PiecewiseCubic.monotone(x, x)
