"""The blade section: a Clark-Y family outline on its flat face, and its area, centroid and second moments.

The Clark-Y ordinates (NACA TR 431, table of ordinates, percent of chord, face line at zero) are scaled in
height by t/c, so that the flat face stays flat and camber grows with thickness, as the carver makes it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quoting.propeller.cubic import PiecewiseCubic

Array = NDArray[np.float64]

PITCH_AXIS = 0.35
"""Where the blade's pitch axis crosses the section, as a fraction of the chord behind the leading edge."""
EDGE_POINTS = 33
"""Cosine-spaced points on each surface; the leading edge is shared, so an outline has 65 points."""

_STATION = np.array([0, 1.25, 2.5, 5, 7.5, 10, 15, 20, 30, 40, 50, 60, 70, 80, 90, 95, 100]) / 100
_BACK = (
    np.array(
        [
            3.50,
            5.45,
            6.50,
            7.90,
            8.85,
            9.60,
            10.69,
            11.36,
            11.70,
            11.40,
            10.52,
            9.15,
            7.35,
            5.22,
            2.80,
            1.49,
            0.12,
        ]
    )
    / 11.70
)
_FACE = np.array([3.50, 1.93, 1.47, 0.93, 0.63, 0.42, 0.15, 0.03, 0, 0, 0, 0, 0, 0, 0, 0, 0]) / 11.70
# The nose is a parabola in x, so both surfaces are smooth in the square root of x. The back is faired as a template is;
# the face must stay flat where it is flat.
_BACK_LAW = PiecewiseCubic.fair(np.sqrt(_STATION), _BACK)
_FACE_LAW = PiecewiseCubic.monotone(np.sqrt(_STATION), _FACE)


def _cosine_outline() -> tuple[Array, Array]:
    x = 0.5 * (1 - np.cos(np.linspace(0, np.pi, EDGE_POINTS)))
    back, face = _BACK_LAW(np.sqrt(x)), _FACE_LAW(np.sqrt(x))
    return np.concatenate([x[::-1], x[1:]]), np.concatenate([back[::-1], face[1:]])


_X, _Y = _cosine_outline()
_X.setflags(write=False)
_Y.setflags(write=False)


def flat_face_offset(t_c: ArrayLike) -> Array:
    """Angle in rad by which the chord line stands nose-up of the flat face, for thickness ratios `t_c`.

    The chord line runs from the nose to the trailing edge of the ordinates: 1.94 degrees at 11.7 %.
    """
    return np.asarray(np.arctan((_BACK[0] - 0.5 * (_BACK[-1] + _FACE[-1])) * np.asarray(t_c, dtype=float)))


def outline(chord: ArrayLike, thickness: ArrayLike, edge: float = 0.0) -> Array:
    """Closed outline of each section, shape (..., 65, 2) in m, from the trailing edge over the back.

    `chord` and `thickness` (m) broadcast against each other. u runs along the flat face from the pitch axis
    towards the trailing edge, v away from the face: the face lies on v = 0 behind the nose. `edge` (m) is the
    least thickness left at the trailing edge (common practice: just enough not to dent).
    """
    c, t = np.broadcast_arrays(np.asarray(chord, dtype=float), np.asarray(thickness, dtype=float))
    u = c[..., None] * (_X - PITCH_AXIS)
    v = t[..., None] * _Y
    back = np.arange(_X.size) < EDGE_POINTS - 1
    wanted = np.minimum(edge, 0.5 * t)[..., None] * (_X > 0.5)
    return np.stack([u, np.where(back, np.maximum(v, wanted), v)], axis=-1)


@dataclass(frozen=True, slots=True)
class SectionProperties:
    """Arrays over sections, SI: area, centroid (u, v) and second moments about the centroid.

    `i_uu` is the integral of v^2 (bending flatwise), `i_vv` of u^2 (edgewise), `i_uv` of u v, about axes
    through the centroid parallel to the face and square to it. `v_top` and `v_bottom` are the extreme fibres
    measured from the centroid (positive away from it), `u_nose` and `u_tail` likewise along the face.
    """

    area: Array
    u: Array
    v: Array
    i_uu: Array
    i_vv: Array
    i_uv: Array
    v_top: Array
    v_bottom: Array
    u_nose: Array
    u_tail: Array


def properties(points: Array) -> SectionProperties:
    """Section properties of closed polygons `points`, shape (..., n, 2) in m, by Green's theorem."""
    u, v = points[..., 0], points[..., 1]
    un, vn = np.roll(u, -1, axis=-1), np.roll(v, -1, axis=-1)
    cross = u * vn - un * v
    signed = 0.5 * cross.sum(-1)
    cu = (cross * (u + un)).sum(-1) / (6 * signed)
    cv = (cross * (v + vn)).sum(-1) / (6 * signed)
    sign = np.sign(signed)
    i_uu = sign * (cross * (v * v + v * vn + vn * vn)).sum(-1) / 12
    i_vv = sign * (cross * (u * u + u * un + un * un)).sum(-1) / 12
    i_uv = sign * (cross * (u * vn + 2 * u * v + 2 * un * vn + un * v)).sum(-1) / 24
    area = np.abs(signed)
    return SectionProperties(
        area=area,
        u=cu,
        v=cv,
        i_uu=i_uu - area * cv**2,
        i_vv=i_vv - area * cu**2,
        i_uv=i_uv - area * cu * cv,
        v_top=v.max(-1) - cv,
        v_bottom=cv - v.min(-1),
        u_nose=cu - u.min(-1),
        u_tail=u.max(-1) - cu,
    )
