"""The solid as a shaded picture: seen from ahead and above, its laminations in their colours, whole and at the hub.

Heavy library: only tasks and commands import this file. Faces are painted from far to near; they are cut small first,
so that the order of their middles is the order of the faces.
"""

# mypy: allow-untyped-calls

import io
from collections.abc import Sequence
from math import cos, radians, sin

import numpy as np
import trimesh
from numpy.typing import NDArray
from PIL import Image, ImageDraw

Array = NDArray[np.float64]
Body = tuple[Array, NDArray[np.int64]]

WIDTH, TALLEST = 1400, 900
"""Pixels of one view."""
FINER = 2
"""The picture is painted so many times larger and brought down, for smooth edges."""
LONGEST = 0.020
"""Longest side of a face in m before it is painted."""
ABOVE, ASIDE = 34.0, 24.0
"""From where it is seen, degrees above the plane of the shaft and to the side of it."""
LIGHT = np.array([-0.45, 0.40, 0.80])
"""Direction to the light in the picture's axes: from the left, above and the front."""
DULL = 0.40
"""Light in the shade, as a share of full light."""
ONE_SURFACE = cos(radians(40))
"""Faces whose normals lie closer than this belong to one carved surface and are shaded as one."""
AT_HUB = 0.42
"""How much of a blade's length the view of the hub shows."""


def view(blades: int) -> Array:
    """Rows are the picture's right, up and toward the eye, in the solid's axes; two blades lie level."""
    level = np.array([[0.0, 1, 0], [-1, 0, 0], [0, 0, 1]]) if blades == 2 else np.eye(3)
    a, b = radians(ABOVE), radians(ASIDE)
    turned = np.array([[cos(b), 0, -sin(b)], [0, 1, 0], [sin(b), 0, cos(b)]])
    tilted = np.array([[1, 0, 0], [0, cos(a), -sin(a)], [0, sin(a), cos(a)]])
    return np.asarray(tilted @ turned @ level)


def outer_faces(bodies: Sequence[Body]) -> list[Array]:
    """Corners (n, 3, 3) of each body's faces without those in its glue planes, none longer than `LONGEST`."""
    planes = _shared_planes(bodies)
    found = []
    for vertices, faces in bodies:
        z = vertices[faces][..., 2]
        flat = np.zeros(len(faces), dtype=bool)
        for plane in planes:
            flat |= np.all(np.abs(z - plane) < 1e-7, axis=1)
        small, index = trimesh.remesh.subdivide_to_size(vertices, faces[~flat], LONGEST, max_iter=12)
        found.append(np.asarray(small)[np.asarray(index)])
    return found


def _shared_planes(bodies: Sequence[Body]) -> list[float]:
    """The z at which one body ends and the next begins."""
    ends = [float(vertices[:, 2].max()) for vertices, _ in bodies]
    starts = [float(vertices[:, 2].min()) for vertices, _ in bodies]
    return [end for end in ends if any(abs(end - start) < 1e-7 for start in starts)]


def two_views(bodies: Sequence[Body], colours: Sequence[str], blades: int) -> bytes:
    """PNG of the whole propeller and, under it, of its hub; colours #rrggbb are taken in turn, rearmost body first."""
    outer = outer_faces(bodies)
    paint = [[int(colour[i : i + 2], 16) for i in (1, 3, 5)] for colour in colours]
    colour = np.concatenate([np.full((len(f), 3), paint[k % len(paint)]) for k, f in enumerate(outer)])
    drawn = np.concatenate(outer) @ view(blades).T
    normal, facing = _normals(drawn, view(blades)[:, 2])
    seen = facing > 0
    light = np.clip(normal[seen] @ (LIGHT / np.linalg.norm(LIGHT)), 0, 1)
    drawn, shade = drawn[seen], (colour[seen] * (DULL + (1 - DULL) * light)[:, None]).astype(int)
    order = np.argsort(drawn[..., 2].mean(axis=1))
    drawn, shade = drawn[order], shade[order]
    low, high = drawn[..., :2].min((0, 1)), drawn[..., :2].max((0, 1))
    half = AT_HUB * 0.5 * float(high[0] - low[0])
    near = np.array([half, half * 0.45])
    views = [_painted(drawn, shade, low, high), _painted(drawn, shade, -near, near)]
    whole = Image.new("RGBA", (WIDTH, sum(v.height for v in views) + 30), (0, 0, 0, 0))
    whole.paste(views[0], (0, 0))
    whole.paste(views[1], (0, views[0].height + 30))
    out = io.BytesIO()
    whole.quantize(256, method=Image.Quantize.FASTOCTREE).save(out, "PNG", optimize=True)
    return out.getvalue()


def _normals(corners: Array, shaft: Array) -> tuple[Array, Array]:
    """Unit normals (n, 3) of faces, evened out over each carved surface, and how far each face looks to the eye.

    The boss's ends, square to the `shaft`, stay flat.
    """
    flat = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    facing = flat[:, 2].copy()
    unit = flat / np.maximum(np.linalg.norm(flat, axis=1, keepdims=True), 1e-15)
    _, at = np.unique(np.round(corners.reshape(-1, 3), 6), axis=0, return_inverse=True)
    at = at.reshape(-1, 3)
    summed = np.zeros((int(at.max()) + 1, 3))
    for k in range(3):
        np.add.at(summed, at[:, k], flat)
    summed /= np.maximum(np.linalg.norm(summed, axis=1, keepdims=True), 1e-15)
    around = summed[at]
    alike = np.einsum("nkj,nj->nk", around, unit) > ONE_SURFACE
    alike &= (np.abs(unit @ shaft) < 0.9999)[:, None]
    even = np.where(alike[..., None], around, unit[:, None]).sum(1)
    return even / np.maximum(np.linalg.norm(even, axis=1, keepdims=True), 1e-15), facing


def _painted(corners: Array, shade: NDArray[np.int64], low: Array, high: Array) -> Image.Image:
    """The faces within a window of the picture's plane, from far to near, on clear ground."""
    margin = 0.02 * float(high[0] - low[0])
    low, high = low - margin, high + margin
    scale = min(WIDTH / float(high[0] - low[0]), TALLEST / float(high[1] - low[1])) * FINER
    height = int(float(high[1] - low[1]) * scale)
    image = Image.new("RGBA", (WIDTH * FINER, height), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    middle = 0.5 * (low + high)
    flat = np.empty((*corners.shape[:2], 2))
    flat[..., 0] = 0.5 * WIDTH * FINER + (corners[..., 0] - middle[0]) * scale
    flat[..., 1] = 0.5 * height - (corners[..., 1] - middle[1]) * scale
    inside = np.all(flat.max(1) > 0, axis=1) & np.all(flat.min(1) < [WIDTH * FINER, height], axis=1)
    for points, colour in zip(flat[inside], shade[inside], strict=True):
        paint = (int(colour[0]), int(colour[1]), int(colour[2]), 255)
        draw.polygon([(float(x), float(y)) for x, y in points], fill=paint, outline=paint)
    return image.resize((WIDTH, height // FINER), Image.Resampling.LANCZOS)
