"""The hub's face as drawn: boss, bore, bolt holes, drive-lug counterbores and the circle they sit on."""

from math import cos, pi, sin

from quoting.propeller.catalogue import HubPattern
from quoting.propeller.drawing.svg import CIRCLE_OF_CENTRES, HIDDEN, MEDIUM, OUTLINE, Point, circle


def hole_centres(hub: HubPattern, clocking: float, *, turned: float = 0.0) -> list[Point]:
    """Centres in m about the shaft, x right and y down as seen from the slipstream; none when incomplete.

    `turned` is the direction of the first blade in rad (0 right, clockwise). `clocking` in degrees is counted as
    `hub.Boss` counts it, clockwise seen from the front: anticlockwise here, whichever way the propeller turns.
    """
    if not hub.bolts or hub.circle is None:
        return []
    radius = hub.circle.value / 2
    angles = [turned - clocking * pi / 180 - 2 * pi * k / hub.bolts for k in range(hub.bolts)]
    return [(radius * cos(a), radius * sin(a)) for a in angles]


def hub_parts(
    hub: HubPattern | None,
    boss_diameter: float,
    centre: Point,
    scale: float,
    *,
    clocking: float = 0.0,
    turned: float = 0.0,
    fill: str = "none",
) -> list[str]:
    """Elements of the hub's face at `scale` (drawing units per m). Missing figures are left undrawn."""
    x, y = centre
    parts = [circle(centre, boss_diameter / 2 * scale, OUTLINE.replace('fill="none"', f'fill="{fill}"'))]
    if hub is None:
        return parts
    if hub.pilot is not None:
        parts.append(circle(centre, hub.pilot.value / 2 * scale, MEDIUM))
    if hub.circle is not None:
        parts.append(circle(centre, hub.circle.value / 2 * scale, CIRCLE_OF_CENTRES))
    if hub.hole is None:
        return parts
    for dx, dy in hole_centres(hub, clocking, turned=turned):
        at = (x + dx * scale, y + dy * scale)
        parts.append(circle(at, max(hub.hole.value / 2 * scale, 1.0), MEDIUM))
        if hub.lug_diameter is not None:
            parts.append(circle(at, hub.lug_diameter.value / 2 * scale, HIDDEN))
    return parts
