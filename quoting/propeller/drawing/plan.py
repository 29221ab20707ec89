"""The propeller in plan, seen from its slipstream and to scale: the picture on the ask, quote and order pages."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, pi, sin

import numpy as np
from numpy.typing import NDArray

from quoting.propeller.blade import Blade
from quoting.propeller.catalogue import Hand, HubPattern, Position
from quoting.propeller.drawing.hubface import hub_parts
from quoting.propeller.drawing.lettering import (
    NUMBERS,
    Units,
    bolt_words,
    both_lengths,
    hand_words,
    length_words,
)
from quoting.propeller.drawing.svg import (
    CENTRE,
    HAIR,
    OUTLINE,
    Point,
    arc_arrow,
    circle,
    dimension,
    line,
    path,
    picture,
    text,
)
from quoting.propeller.loft import Loft, loft

Array = NDArray[np.float64]

ROWS = 48
GUARD_LAP = 0.024
"""How far a leading-edge guard laps onto the face, in m; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Wood:
    """How the timber shows: its colour, and the thickness of its laminations in m (0 draws no joints)."""

    colour: str
    lamination: float = 0.0


@dataclass(frozen=True, slots=True)
class Placing:
    """Where a blade lies on the sheet: its shaft, drawing units per m, direction in rad, sense of rotation."""

    centre: Point
    scale: float
    direction: float
    sense: float

    def at(self, r: float, s: float) -> Point:
        """The point r along the blade and s in the direction it moves, both in m."""
        across = self.sense * s
        c, q = cos(self.direction), sin(self.direction)
        return (
            self.centre[0] + self.scale * (r * c - across * q),
            self.centre[1] + self.scale * (r * q + across * c),
        )


def outside_boss(r: Array, s: Array, boss_radius: float) -> Array:
    """The part of an edge (r, s) that lies outside the boss's circle, beginning on the circle; shape (n, 2)."""
    distance = np.hypot(r, s)
    first = int(np.argmax(distance > boss_radius))
    edge = np.stack([r, s], axis=-1)
    if first == 0:
        return edge
    share = (boss_radius - distance[first - 1]) / (distance[first] - distance[first - 1])
    meeting = edge[first - 1] + share * (edge[first] - edge[first - 1])
    return np.concatenate([meeting[None], edge[first:]])


def blade_outline(surface: Loft) -> Array:
    """The blade's outline as seen along the shaft, boss to tip and back, (n, 2) of (r, s) in m."""
    ahead = outside_boss(surface.r, surface.forward_edge, surface.boss_radius)
    behind = outside_boss(surface.r, surface.rearward_edge, surface.boss_radius)
    return np.concatenate([ahead, behind[::-1]])


def joint_lines(surface: Loft, lamination: float) -> list[Array]:
    """Where the glue lines come out on the face, each (n, 2) of (r, s) in m.

    Joints lie square to the shaft, a lamination apart, one on the middle plane; the face falls from the leading
    to the trailing edge, so each joint crosses a section once.
    """
    middle = surface.points.shape[1] // 2
    face = surface.points[:, middle:, :][:, ::-1, :]
    depth = float(np.abs(surface.points[..., 1]).max())
    lines: list[Array] = []
    for level in np.arange(-np.floor(depth / lamination), np.floor(depth / lamination) + 1) * lamination:
        run: list[tuple[float, float]] = []
        for r, row in zip(surface.r, face, strict=True):
            s, z = row[:, 0], np.maximum.accumulate(row[:, 1])
            crosses = z[0] < level < z[-1] and r > surface.boss_radius
            if crosses:
                run.append((float(r), float(np.interp(level, z, s))))
            if run and (not crosses or r == surface.r[-1]):
                lines += [np.array(run)] if len(run) > 2 else []
                run = []
    return lines


def blade_parts(surface: Loft, placing: Placing, wood: Wood | None) -> list[str]:
    """One blade's outline with its timber and glue lines."""
    filled = f'fill="{wood.colour}" fill-opacity=".62"' if wood else 'fill="none"'
    outline = blade_outline(surface)
    last, first = (float(np.arctan2(s, r)) for r, s in outline[[-1, 0]])
    seam = np.linspace(
        last, first, 12
    )  # back to the beginning along the boss, so that no timber shows through twice
    around = surface.boss_radius * np.stack([np.cos(seam), np.sin(seam)], axis=-1)
    points = [placing.at(float(r), float(s)) for r, s in np.concatenate([outline, around])]
    parts = [path(points, OUTLINE.replace('fill="none"', filled))]
    if wood and wood.lamination:
        for run in joint_lines(surface, wood.lamination):
            parts.append(path([placing.at(float(r), float(s)) for r, s in run], HAIR))
    return parts


def guard_parts(surface: Loft, placing: Placing, fraction: float, colour: str) -> list[str]:
    """One blade's leading-edge guard as it laps the face: the outer `fraction` of the radius, GUARD_LAP m wide."""
    tip = float(surface.r[-1])
    inner = max((1 - fraction) * tip, surface.boss_radius)
    r = np.linspace(inner, tip, ROWS)
    ahead, behind = (np.interp(r, surface.r, edge) for edge in (surface.forward_edge, surface.rearward_edge))
    lap = np.maximum(ahead - GUARD_LAP, behind)
    strip = [placing.at(float(a), float(b)) for a, b in zip(r, ahead, strict=True)]
    strip += [placing.at(float(a), float(b)) for a, b in zip(r[::-1], lap[::-1], strict=True)]
    return [path(strip, HAIR.replace('fill="none"', f'fill="{colour}" fill-opacity=".92"'), closed=True)]


def directions(blades: int) -> list[float]:
    """Where the blades point, rad clockwise from the right: two lie level, others stand on their first."""
    first = 0.0 if blades == 2 else -pi / 2
    return [first + 2 * pi * k / blades for k in range(blades)]


def plan_parts(
    surface: Loft,
    hub: HubPattern | None,
    centre: Point,
    scale: float,
    *,
    ways: Sequence[float],
    sense: float,
    clocking: float,
    wood: Wood | None = None,
) -> list[str]:
    """Blades pointing `ways` (rad), boss and holes about `centre` at `scale` drawing units per m."""
    parts: list[str] = []
    for way in ways:
        parts += blade_parts(surface, Placing(centre, scale, way, sense), wood)
    parts += hub_parts(
        hub,
        2 * surface.boss_radius,
        centre,
        scale,
        clocking=clocking,
        turned=ways[0],
        fill=f'{wood.colour}" fill-opacity=".62' if wood else "none",
    )
    return parts


def propeller_svg(
    blade: Blade,
    boss_diameter: float,
    boss_thickness: float,
    hub: HubPattern | None,
    *,
    hand: Hand,
    position: Position,
    clocking: float = 0.0,
    units: Units = "in",
    wood: Wood | None = None,
    compact: bool = False,
    name: str = "plan",
) -> str:
    """The very propeller to scale, seen from its slipstream, as one `svg` element.

    Lengths in m, `clocking` in degrees clockwise seen from the front (0 puts a hole on a blade's centre line).
    `compact` is the phone's: narrower, with larger letters. `name` keeps ids apart where two stand on a page.
    Raises ValueError when the boss does not fit the propeller.
    """
    surface = loft(blade, boss_diameter, boss_thickness, count=ROWS)
    sense = 1.0 if hand is Hand.RIGHT else -1.0
    width, letters = (340.0, 12.0) if compact else (640.0, 11.0)
    tip_circle = blade.blades > 2
    drawn = width - 44 if not tip_circle else min(width - 44, 380.0)
    scale = drawn / blade.diameter
    reach = drawn / 2 if tip_circle else max(boss_diameter / 2, _half_width(surface)) * scale
    top = max(26.0, 50 - reach) if not tip_circle else 24.0
    middle = (width / 2, top + reach + (12 if compact and not tip_circle else 0))
    foot = middle[1] + reach
    parts = _centre_lines(middle, blade.diameter / 2 * scale, reach)
    if tip_circle:
        parts.append(circle(middle, drawn / 2, HAIR + ' stroke-dasharray="2 4"'))
    parts += plan_parts(
        surface,
        hub,
        middle,
        scale,
        ways=directions(blade.blades),
        sense=sense,
        clocking=clocking,
        wood=wood,
    )
    left, right = (middle[0] - drawn / 2, middle[1]), (middle[0] + drawn / 2, middle[1])
    parts.append(dimension(left, right, both_lengths(blade.diameter, units), offset=reach + 26, size=letters))
    parts += _rotation(middle, boss_diameter / 2 * scale, sense, letters, hand, compact, foot)
    height = foot + (54 if compact else 38)
    return picture(
        parts,
        width,
        height,
        title=f"Propeller of {length_words(blade.diameter, units)}, {NUMBERS[blade.blades]} blades",
        description=_description(blade, hub, hand, position, units),
        name=name,
    )


def _half_width(surface: Loft) -> float:
    return float(max(surface.forward_edge.max(), -surface.rearward_edge.min()))


def _centre_lines(middle: Point, half: float, reach: float) -> list[str]:
    x, y = middle
    up = reach + 8
    return [
        line((x - half - 14, y), (x + half + 14, y), CENTRE),
        line((x, y - up), (x, y + up), CENTRE),
    ]


def _rotation(
    middle: Point, boss: float, sense: float, letters: float, hand: Hand, compact: bool, foot: float
) -> list[str]:
    radius = boss + 18
    start = -72.0 if sense > 0 else -34.0
    arrow = arc_arrow(middle, radius, start, 38 * sense)
    words = hand_words(hand)
    if compact:
        return [arrow, text((middle[0], foot + 46), words, size=letters, anchor="middle", soft=True)]
    at = (middle[0] + radius * 0.78 + 8, middle[1] - radius * 0.92)
    return [arrow, text(at, words, size=letters, soft=True)]


def _description(blade: Blade, hub: HubPattern | None, hand: Hand, position: Position, units: Units) -> str:
    boss = f" Boss with {bolt_words(hub, units)}." if hub else ""
    return (
        f"{blade.hand.value.capitalize()}-hand {position.value}, drawn to scale as seen from its slipstream; "
        f"it {hand_words(hand)}.{boss}"
    )
