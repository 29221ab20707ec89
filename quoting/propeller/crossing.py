"""Where two laws meet: halving over whole arrays, ended by a straight line."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def crossing(gap: Callable[[Array], Array], low: Array, high: Array, halvings: int) -> Array:
    """Where the falling `gap` passes zero between `low` and `high` (arrays of one shape); the nearer end if nowhere.

    >>> crossing(lambda x: 2.0 - x**2, np.array([0.0]), np.array([2.0]), 8).round(5)
    array([1.41421])
    """
    for _ in range(halvings):
        middle = 0.5 * (low + high)
        before = gap(middle) > 0
        low, high = np.where(before, middle, low), np.where(before, high, middle)
    above, below = gap(low), gap(high)
    fall = above - below
    share = np.divide(above, fall, out=np.ones_like(fall), where=fall > 0)
    return np.asarray(low + np.minimum(np.maximum(share, 0), 1) * (high - low))
