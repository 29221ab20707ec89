"""The generic wooden planform: chord and thickness laws, and the four tip forms laid over them."""

import csv
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from quoting.propeller.catalogue import TipForm
from quoting.propeller.cubic import PiecewiseCubic

Array = NDArray[np.float64]


def _columns(name: str) -> dict[str, Array]:
    text = files("quoting.propeller").joinpath("tables", name).read_text("utf-8")
    rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
    return {key: np.array([float(row[key]) for row in rows]) for key in rows[0]}


_LAW = _columns("wooden_planform.csv")
INNERMOST = float(_LAW["radius_fraction"][0])
_CHORD = PiecewiseCubic.monotone(_LAW["radius_fraction"], 2 * _LAW["chord_per_diameter"])
_THICKNESS = PiecewiseCubic.monotone(_LAW["radius_fraction"], _LAW["thickness_ratio"])

STATIONS = np.concatenate(
    [np.linspace(INNERMOST, 0.90, 31), 0.90 + 0.10 * np.sin(np.linspace(0, np.pi / 2, 13)[1:])]
)
STATIONS[-1] = 1.0
STATIONS.setflags(write=False)

_ROUNDING = 0.026
"""Length of a round tip's closing arc as a fraction of the radius: half a tip chord, so a near semicircle."""
_SLIVER = 0.04
_ELLIPSE_START = 0.60
_RAKE_LENGTH = 0.030
_SWEEP_START = 0.45
_SWEEP = 0.055


def thickness_ratio(x: Array) -> Array:
    """t/c of the generic wooden blade at fractions of the radius `x`."""
    return np.asarray(_THICKNESS(np.clip(x, INNERMOST, 1.0)))


def _closing(x: Array, length: float) -> Array:
    """A quarter ellipse over the last `length` of the radius; a sliver is left, no section is empty."""
    return np.asarray(np.sqrt(1 - (1 - _SLIVER**2) * np.clip((x - (1 - length)) / length, 0, 1) ** 2))


def _elliptical(x: Array) -> Array:
    full = np.asarray(_CHORD(np.minimum(x, _ELLIPSE_START)))
    return full * _closing(x, 1 - _ELLIPSE_START)


def _square(x: Array) -> Array:
    """Carries more wood outboard: half-way between the law and the chord it has at 0.85 R."""
    return np.asarray(
        np.where(x < 0.80, _CHORD(x), 0.5 * (_CHORD(x) + _CHORD(0.80) * (1 - 1.2 * (x - 0.80))))
    )


def planform(tip: TipForm, x: Array) -> tuple[Array, Array]:
    """Chord / R and chordwise offset of the pitch axis / R (positive aft) at fractions of the radius `x`.

    Round is the law itself closed by an arc; elliptical an ellipse quadrant from 0.60 R; square-raked keeps a
    wide tip cut obliquely so that the leading edge is shorter; scimitar an elliptical blade swept aft.
    """
    if tip is TipForm.ROUND:
        return np.asarray(_CHORD(x)) * _closing(x, _ROUNDING), np.zeros_like(x)
    if tip is TipForm.ELLIPTICAL:
        return _elliptical(x), np.zeros_like(x)
    if tip is TipForm.SCIMITAR:
        swept = np.clip((x - _SWEEP_START) / (1 - _SWEEP_START), 0, 1) ** 2
        return _elliptical(x), _SWEEP * swept
    full = _square(x)
    cut = np.clip((x - (1 - _RAKE_LENGTH)) / _RAKE_LENGTH, 0, 1)
    chord = full * (1 - 0.98 * cut)
    # the trailing edge stays where it was, the leading edge gives way: 0.65 c lies behind the pitch axis
    return chord, 0.65 * (full - chord)
