"""The shape-preserving cubic against scipy's."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from quoting.propeller.monotone import MonotoneCubic

ORDINATES = st.lists(st.floats(-10, 10), min_size=3, max_size=12)


@given(ORDINATES, st.randoms(use_true_random=False))
def test_it_equals_scipys_pchip_at_and_between_the_points(ordinates, random):
    x = np.cumsum([random.uniform(0.05, 2.0) for _ in ordinates])
    at = np.linspace(x[0], x[-1], 57)
    ours, theirs = MonotoneCubic.through(x, ordinates)(at), PchipInterpolator(x, ordinates)(at)
    assert np.allclose(ours, theirs, rtol=1e-9, atol=1e-9)


@pytest.mark.parametrize("x", [[0, 1], [0, 1, 1], [2, 1, 0]])
def test_points_that_do_not_rise_are_refused(x):
    with pytest.raises(ValueError, match="three points with rising x"):
        MonotoneCubic.through(x, x)
