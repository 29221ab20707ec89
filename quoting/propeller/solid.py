"""The propeller as a watertight solid: blades and boss joined, bore and holes cut, layers coloured for the mock-up.

Heavy libraries: only tasks and commands import this file. Axes: z the way it flies, y along the first blade, x to
the right as seen from the front; metres throughout, as glTF asks.
"""

# mypy: allow-untyped-calls

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi, sin, sqrt

import manifold3d
import numpy as np
import trimesh
from numpy.typing import NDArray

from quoting.propeller.catalogue import Hand, Position
from quoting.propeller.hub import Boss
from quoting.propeller.loft import Loft

Array = NDArray[np.float64]

SEGMENTS = 96
HOLE_SEGMENTS = 36
SMOOTHED_BELOW = 0.6
"""Neighbouring facets meeting at less than this angle in rad are shaded as one surface."""


@dataclass(frozen=True, eq=False)
class Solid:
    """A closed body. `body` is the solid, `mesh` its surface in m; both describe the same triangles."""

    body: manifold3d.Manifold
    mesh: trimesh.Trimesh

    @property
    def volume(self) -> float:
        """In m3."""
        return float(self.mesh.volume)


@dataclass(frozen=True, slots=True)
class MassProperties:
    """Mass in kg, centre of mass (x, y, z) in m, inertia about the shaft in kg m2."""

    mass: float
    centre: tuple[float, float, float]
    inertia: float


def blade_body(surface: Loft, sense: float) -> manifold3d.Manifold:
    """One blade along +y as a closed body; `sense` is 1 for a right-hand propeller, -1 for a left-hand one."""
    count, around, _ = surface.points.shape
    r = np.repeat(surface.r, around)
    s, z = surface.points.reshape(-1, 2).T
    vertices = np.column_stack([-sense * s, r, z])
    inner, outer = surface.points[0].mean(0), surface.points[-1].mean(0)
    caps = [[-sense * inner[0], surface.r[0], inner[1]], [-sense * outer[0], surface.r[-1], outer[1]]]
    row = np.arange(around)
    after = np.roll(row, -1)
    start = around * np.arange(count - 1)[:, None]
    a, b = (start + row).ravel(), (start + after).ravel()
    c, d = a + around, b + around
    last = around * (count - 1)
    hub, tip = count * around, count * around + 1
    faces = np.concatenate(
        [
            np.column_stack([a, b, d]),
            np.column_stack([a, d, c]),
            np.column_stack([np.full(around, hub), after, row]),
            np.column_stack([np.full(around, tip), last + row, last + after]),
        ]
    )
    if sense > 0:
        faces = faces[:, ::-1]
    return _manifold(np.concatenate([vertices, caps]), faces)


def _manifold(vertices: Array, faces: NDArray[np.int64]) -> manifold3d.Manifold:
    body = manifold3d.Manifold(
        manifold3d.Mesh64(
            vert_properties=np.ascontiguousarray(vertices, dtype=np.float64),
            tri_verts=np.ascontiguousarray(faces, dtype=np.uint64),
        )
    )
    if body.status() != manifold3d.Error.NoError or body.volume() <= 0:
        raise ValueError(f"the blade's surface does not close: {body.status()}")
    return body


def _cylinder(
    diameter: float, depth: float, bottom: float, *, x: float = 0.0, y: float = 0.0, segments: int = SEGMENTS
) -> manifold3d.Manifold:
    """A cylinder along z whose polygon has the circle's area, so that volumes are the circle's."""
    step = 2 * pi / segments
    radius = 0.5 * diameter * sqrt(step / sin(step))
    return manifold3d.Manifold.cylinder(depth, radius, radius, segments).translate((x, y, bottom))


def _cuts(boss: Boss, position: Position) -> list[manifold3d.Manifold]:
    """Bore, bolt holes and lug counterbores; the flange lies behind on a tractor and ahead on a pusher."""
    half = 0.5 * boss.thickness
    slack = 0.05 * boss.thickness

    def from_flange(diameter: float, depth: float, x: float = 0.0, y: float = 0.0) -> manifold3d.Manifold:
        through = slack if depth >= boss.thickness else 0.0
        length = depth + slack + through
        bottom = -half - slack if position is Position.TRACTOR else half - depth - through
        return _cylinder(diameter, length, bottom, x=x, y=y, segments=HOLE_SEGMENTS)

    cuts = [from_flange(boss.bore, boss.bore_depth)] if boss.bore else []
    for x, y in boss.holes if boss.hole else ():
        cuts.append(from_flange(boss.hole or 0.0, boss.thickness, float(x), float(y)))
        if boss.lug and boss.lug_depth:
            cuts.append(from_flange(boss.lug, boss.lug_depth, float(x), float(y)))
    return cuts


def solid(
    surface: Loft, boss: Boss, blades: int, *, hand: Hand, position: Position = Position.TRACTOR
) -> Solid:
    """The finished wood: `blades` copies of the lofted `surface` joined to the `boss`, with its cuts.

    Raises ValueError when the surface does not close.
    """
    one = blade_body(surface, 1.0 if hand is Hand.RIGHT else -1.0)
    whole = [one.rotate((0.0, 0.0, 360.0 * k / blades)) for k in range(blades)]
    whole.append(_cylinder(boss.diameter, boss.thickness, -0.5 * boss.thickness))
    body = manifold3d.Manifold.batch_boolean(whole, manifold3d.OpType.Add)
    cuts = _cuts(boss, position)
    if cuts:
        body -= manifold3d.Manifold.batch_boolean(cuts, manifold3d.OpType.Add)
    return Solid(body=body, mesh=_mesh(body))


def _mesh(body: manifold3d.Manifold) -> trimesh.Trimesh:
    raw = body.to_mesh64()
    return trimesh.Trimesh(
        vertices=raw.vert_properties[:, :3],
        faces=raw.tri_verts.astype(np.int64),
        process=False,
        validate=False,
    )


def mass_properties(of: Solid, density: float) -> MassProperties:
    """Mass, centre and inertia about the shaft of the solid at `density` in kg/m3."""
    properties = of.mesh.mass_properties
    x, y, z = (float(v) for v in properties.center_mass)
    mass = float(properties.volume) * density
    about_centre = float(properties.inertia[2, 2]) * density
    return MassProperties(mass=mass, centre=(x, y, z), inertia=about_centre + mass * (x * x + y * y))


def layers(of: Solid, planes: Sequence[float]) -> tuple[Solid, ...]:
    """The solid cut at the glue lines: one body per lamination from the rear forward, empty ones left out.

    `planes` are the z in m of the two outer faces and the glue lines, rising.
    """
    parts: list[Solid] = []
    rest = of.body
    for plane in planes[1:-1]:
        ahead, behind = rest.split_by_plane((0.0, 0.0, 1.0), plane)
        if not behind.is_empty():
            parts.append(Solid(behind, _mesh(behind)))
        rest = ahead
    if not rest.is_empty():
        parts.append(Solid(rest, _mesh(rest)))
    return tuple(parts)


def glb(parts: Sequence[Solid], colours: Sequence[str]) -> bytes:
    """Binary glTF 2.0 with one named, coloured node per layer (layer-1 rearmost); colours are taken in turn.

    Raises ValueError when there is no layer or no colour, or a colour is not #rrggbb.
    """
    if not parts or not colours:
        raise ValueError("glb: at least one layer and one colour are needed")
    scene = trimesh.Scene()
    for k, part in enumerate(parts):
        shown = trimesh.graph.smooth_shade(part.mesh, angle=SMOOTHED_BELOW)
        shown.visual = trimesh.visual.TextureVisuals(
            material=trimesh.visual.material.PBRMaterial(
                name=f"layer-{k + 1}",
                baseColorFactor=_rgba(colours[k % len(colours)]),
                metallicFactor=0.0,
                roughnessFactor=0.45,
            )
        )
        scene.add_geometry(shown, node_name=f"layer-{k + 1}", geom_name=f"layer-{k + 1}")
    return _written(scene.export(file_type="glb", include_normals=True))


def _rgba(colour: str) -> list[int]:
    if len(colour) != 7 or colour[0] != "#":
        raise ValueError(f"colour: {colour!r} given, accepted is #rrggbb")
    try:
        return [int(colour[k : k + 2], 16) for k in (1, 3, 5)] + [255]
    except ValueError:
        raise ValueError(f"colour: {colour!r} given, accepted is #rrggbb") from None


def stl(of: Solid) -> bytes:
    """Binary STL in millimetres, for those who carve by machine."""
    scaled = of.mesh.copy()
    scaled.apply_scale(1000.0)
    return _written(scaled.export(file_type="stl"))


def _written(export: object) -> bytes:
    if not isinstance(export, bytes):
        raise TypeError(f"the export came as {type(export).__name__}, not bytes")
    return export
