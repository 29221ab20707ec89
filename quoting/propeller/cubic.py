"""Cubics through published ordinates, without loading scipy when the web process starts."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PiecewiseCubic:
    """Piecewise cubic through (x, y), both of shape (n,), x rising, with the slope at each point.

    The tests hold it equal to scipy's PchipInterpolator and CubicSpline, whose import alone would take a quarter of the
    web process's start.
    """

    x: Array
    y: Array
    slope: Array

    @classmethod
    def monotone(cls, x: ArrayLike, y: ArrayLike) -> "PiecewiseCubic":
        """The curve that rises and falls only where the points do: slopes after Fritsch and Butland, SIAM J. Sci. Stat.
        Comput. 5 (1984) 300. Raises ValueError when x does not rise or fewer than three points are given.
        """
        x, y, width = _points(x, y, at_least=3)
        rise = np.diff(y) / width
        before, after = 2 * width[1:] + width[:-1], width[1:] + 2 * width[:-1]
        turning = rise[:-1] * rise[1:] <= 0
        left, right = np.where(turning, 1.0, rise[:-1]), np.where(turning, 1.0, rise[1:])
        inner = np.where(turning, 0.0, (before + after) / (before / left + after / right))
        first = _end_slope(width[0], width[1], rise[0], rise[1])
        last = _end_slope(width[-1], width[-2], rise[-1], rise[-2])
        return cls(x, y, np.concatenate([[first], inner, [last]]))

    @classmethod
    def fair(cls, x: ArrayLike, y: ArrayLike) -> "PiecewiseCubic":
        """The curve whose bending changes nowhere at once, as a batten lies: the cubic spline, its first two and last two
        pieces one cubic each. Raises ValueError when x does not rise or fewer than four points are given.
        """
        x, y, width = _points(x, y, at_least=4)
        rise = np.diff(y) / width
        bands = np.diag(np.concatenate([[0.0], 2 * (width[:-1] + width[1:]), [0.0]]))
        bands += np.diag(np.concatenate([width[1:], [0.0]]), -1) + np.diag(
            np.concatenate([[0.0], width[:-1]]), 1
        )
        right = np.concatenate([[0.0], 3 * (width[1:] * rise[:-1] + width[:-1] * rise[1:]), [0.0]])
        for row, beside, (h, g), (d, e) in (
            (0, 1, width[:2], rise[:2]),
            (-1, -2, width[:-3:-1], rise[:-3:-1]),
        ):
            bands[row, row], bands[row, beside] = g, h + g
            right[row] = ((h + 2 * (h + g)) * g * d + h**2 * e) / (h + g)
        return cls(x, y, np.linalg.solve(bands, right))

    def __call__(self, at: ArrayLike) -> Array:
        """Ordinates at the given abscissae, same shape; the end pieces are continued outside the points."""
        at = np.asarray(at, dtype=float)
        piece = np.clip(np.searchsorted(self.x, at, side="right") - 1, 0, len(self.x) - 2)
        width = self.x[piece + 1] - self.x[piece]
        t = (at - self.x[piece]) / width
        start, end = self.y[piece], self.y[piece + 1]
        leaving, arriving = width * self.slope[piece], width * self.slope[piece + 1]
        square = 3 * (end - start) - 2 * leaving - arriving
        cube = 2 * (start - end) + leaving + arriving
        return np.asarray(start + t * (leaving + t * (square + t * cube)))


def _points(x: ArrayLike, y: ArrayLike, *, at_least: int) -> tuple[Array, Array, Array]:
    """Both as arrays, and the widths between; ValueError when x does not rise or there are too few."""
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    width = np.diff(x)
    if len(x) < at_least or not np.all(width > 0):
        raise ValueError(f"at least {at_least} points with rising x are needed")
    return x, y, width


def _end_slope(near: float, next_width: float, rise: float, next_rise: float) -> float:
    """The three-point slope at an end, kept to the shape of the data."""
    slope = ((2 * near + next_width) * rise - near * next_rise) / (near + next_width)
    if slope * rise <= 0:
        return 0.0
    if rise * next_rise <= 0 and abs(slope) > abs(3 * rise):
        return 3 * rise
    return float(slope)
