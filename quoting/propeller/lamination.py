"""The blank: how many boards, how wide and how long each, for a stepped or a rectangular lay-up."""

from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from quoting.propeller.hub import Boss
from quoting.propeller.loft import Loft

Array = NDArray[np.float64]

BOARD_FOOT = 0.0254**3 * 144
DEPTH_ALLOWANCE = 0.004
"""Wood in m left over the whole depth of the blank for flattening and carving; common practice, no source."""
EDGE_ALLOWANCE = 0.006
"""Wood in m left at each edge of a board; common practice, no source."""
TIP_ALLOWANCE = 0.0127
"""Half an inch left at each tip until the tips are shaped; common practice, no source."""
FEWEST_LAYERS = 5
FEWEST_LAYERS_SOURCE = (
    "study notes on the EASA propeller syllabus, module 17: five layers or more, commonly five to nine"
)


@dataclass(frozen=True, slots=True)
class Lamination:
    """One blank; m, m2, m3. Layers run from the flange side to the front.

    `planes` are the z of the glue lines and the two outer faces (layers + 1 of them), `widths` each layer's board
    width as the blade needs it, `width` the widest. `board_length` is tip to tip for two blades, one arm with
    its lap over the centre for more; `boards_per_layer` is 1 or the number of arms. `stepped` tells which of the
    two lay-ups `board_feet`, `volume` and `glue_area` follow.
    """

    layers: int
    thickness: float
    planes: tuple[float, ...]
    widths: tuple[float, ...]
    board_length: float
    boards_per_layer: int
    stepped: bool
    board_feet_stepped: float
    board_feet_rectangular: float
    volume_stepped: float
    volume_rectangular: float
    glue_area: float

    @property
    def width(self) -> float:
        return max(self.widths)

    @property
    def board_feet(self) -> float:
        return self.board_feet_stepped if self.stepped else self.board_feet_rectangular

    @property
    def volume(self) -> float:
        return self.volume_stepped if self.stepped else self.volume_rectangular

    @property
    def depth(self) -> float:
        return self.layers * self.thickness


def reach(points: Array, low: float, high: float) -> float:
    """Farthest |s| in m of any outline (..., m, 2) of (s, z) between the planes z = `low` and `high`; 0 if none.

    Each edge is clipped to the slab, so a long edge that only crosses it counts where it crosses.
    """
    s0, z0 = points[..., 0], points[..., 1]
    s1, z1 = np.roll(s0, -1, axis=-1), np.roll(z0, -1, axis=-1)
    rise = z1 - z0
    level = np.abs(rise) < 1e-12
    safe = np.where(level, 1.0, rise)
    start = np.where(level, 0.0, np.clip(np.minimum((low - z0) / safe, (high - z0) / safe), 0, 1))
    end = np.where(level, 1.0, np.clip(np.maximum((low - z0) / safe, (high - z0) / safe), 0, 1))
    inside = np.where(level, (z0 >= low) & (z0 <= high), end > start)
    farthest = np.maximum(np.abs(s0 + start * (s1 - s0)), np.abs(s0 + end * (s1 - s0)))
    return float(np.max(np.where(inside, farthest, 0.0), initial=0.0))


def lamination(
    surface: Loft, boss: Boss, blades: int, diameter: float, thickness: float, *, stepped: bool
) -> Lamination:
    """The blank for one propeller from its lofted blade and boss; `thickness` is one board's, in m.

    Raises ValueError when a board is thinner than 3 mm, which nobody glues up.
    """
    if not thickness >= 0.003:
        raise ValueError(f"lamination_thickness: {thickness:g} m given, accepted is 0.003 m or more")
    low = min(float(surface.back.min()), -0.5 * boss.thickness)
    high = max(float(surface.front.max()), 0.5 * boss.thickness)
    layers = ceil((high - low + DEPTH_ALLOWANCE) / thickness - 1e-9)
    bottom = 0.5 * (low + high) - 0.5 * layers * thickness
    planes = bottom + thickness * np.arange(layers + 1)
    widths = tuple(
        2 * (_half_width(surface, boss, float(a), float(b)) + EDGE_ALLOWANCE)
        for a, b in zip(planes, planes[1:], strict=False)
    )
    length, arms = _boards(blades, diameter, max(widths))
    joints = [min(pair) for pair in zip(widths, widths[1:], strict=False)]
    glued = sum(joints) if stepped else (layers - 1) * max(widths)
    per_width = length * arms * thickness
    return Lamination(
        layers=layers,
        thickness=thickness,
        planes=tuple(float(z) for z in planes),
        widths=widths,
        board_length=length,
        boards_per_layer=arms,
        stepped=stepped,
        board_feet_stepped=per_width * sum(widths) / BOARD_FOOT,
        board_feet_rectangular=per_width * layers * max(widths) / BOARD_FOOT,
        volume_stepped=per_width * sum(widths),
        volume_rectangular=per_width * layers * max(widths),
        glue_area=length * arms * glued,
    )


def _half_width(surface: Loft, boss: Boss, low: float, high: float) -> float:
    within_boss = low < 0.5 * boss.thickness and high > -0.5 * boss.thickness
    return max(reach(surface.points, low, high), 0.5 * boss.diameter if within_boss else 0.0)


def _boards(blades: int, diameter: float, width: float) -> tuple[float, int]:
    """Board length in m and boards per layer: one through plank, or arms lapping half a width past the centre."""
    if blades == 2:
        return diameter + 2 * TIP_ALLOWANCE, 1
    return 0.5 * diameter + TIP_ALLOWANCE + 0.5 * width, blades
