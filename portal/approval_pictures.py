"""The pictures a customer approves: the drawing with the hub's face, or the mock-up in its timber, finish and decal."""

from collections import defaultdict
from dataclasses import replace
from math import degrees
from typing import TypedDict

from django.utils.translation import gettext as _

from orders.models import Approval
from orders.pictures import blade_of, plan_of, unit_of
from quoting.propeller.catalogue import Hand
from quoting.propeller.drawing.lettering import bolt_words
from quoting.propeller.drawing.plan import ROWS, Placing, Wood, directions, guard_parts, plan_parts
from quoting.propeller.drawing.svg import Point, picture, text
from quoting.propeller.drawing.views import hub_svg
from quoting.propeller.loft import Loft, loft
from quoting.propeller.specification import Decal, Specification

FINISH_SHARE = 0.45
"""How much of the finish's own colour shows over the timber's; judged by eye."""
GUARD_COLOURS = defaultdict(
    lambda: "#8a8f94",
    {"brass": "#b8923f", "stainless": "#b9bfc4", "copper": "#a9683c", "cast-urethane": "#4a4c4e", "cloth-tip": "#d9d4c4"},
)  # fmt: skip
"""How the guards of the catalogue show, one of the owner's own in grey; judged by eye."""
WIDTH = 640.0


class Shown(TypedDict):
    svg: str
    caption: str


def pictures_of(kind: str, specification: Specification, units: str) -> list[Shown]:
    """What is shown for one kind of approval; nothing while size or boss are not settled."""
    if blade_of(specification) is None or not specification.boss_diameter or not specification.boss_thickness:
        return []
    if kind == Approval.Kind.MOCK_UP:
        one = _("One blade, larger, from the boss to its tip.")
        return [
            {"svg": mock_up(specification), "caption": mock_up_caption(specification)},
            {"svg": one_blade(specification), "caption": one},
        ]
    plan = plan_of(specification, units, name="approve")
    caption = _("Plan to scale, seen from its slipstream.")
    face = _("The boss and its bolts, seen from the slipstream: %(bolts)s.") % {
        "bolts": bolt_words(specification.hub, unit_of(units))
    }
    return [{"svg": plan.wide, "caption": caption}, {"svg": hub_face(specification, units), "caption": face}]


def hub_face(specification: Specification, units: str) -> str:
    """The hub's face with its boss dimensioned, blade 1 upward, and the way it turns."""
    return hub_svg(specification, specification.boss_diameter or 0.0, unit_of(units))


def mixed(timber: str, finish: str) -> str:
    """The colour of a timber under a finish; both as #rrggbb."""
    channels = (
        round((1 - FINISH_SHARE) * int(timber[i : i + 2], 16) + FINISH_SHARE * int(finish[i : i + 2], 16))
        for i in (1, 3, 5)
    )
    return "#" + "".join(f"{channel:02x}" for channel in channels)


def mock_up(specification: Specification) -> str:
    """The finished propeller: varnished timber, laminations, edge guard, and the decal where it will sit."""
    blade, surface = blade_of(specification), _surface(specification)
    if blade is None or surface is None:
        return ""
    many = blade.blades > 2
    drawn = 380.0 if many else WIDTH - 44
    height = drawn + 40 if many else 130.0
    parts = _finished(
        specification, surface, (WIDTH / 2, height / 2), drawn / blade.diameter, directions(blade.blades)
    )
    caption = mock_up_caption(specification)
    return picture(parts, WIDTH, height, title=_("Mock-up"), description=caption, name="mock-up")


def one_blade(specification: Specification) -> str:
    """The first blade of the mock-up, boss to tip, twice as large."""
    blade, surface = blade_of(specification), _surface(specification)
    if blade is None or surface is None:
        return ""
    scale = (WIDTH - 30) / (blade.radius + surface.boss_radius)
    up, down = float(surface.forward_edge.max()), float(-surface.rearward_edge.min())
    half = max(up, down, surface.boss_radius) * scale + 10
    middle = (15 + surface.boss_radius * scale, half)
    parts = _finished(specification, surface, middle, scale, [0.0])
    caption = mock_up_caption(specification)
    return picture(
        parts, WIDTH, 2 * half, title=_("One blade of the mock-up"), description=caption, name="mock-up-blade"
    )


def _surface(specification: Specification) -> Loft | None:
    blade = blade_of(specification)
    if blade is None:
        return None
    return loft(blade, specification.boss_diameter or 0.0, specification.boss_thickness or 0.0, count=ROWS)


def _finished(
    specification: Specification, surface: Loft, middle: Point, scale: float, ways: list[float]
) -> list[str]:
    """Blades in the given directions with all that is fitted and laid on them."""
    wood = Wood(
        mixed(specification.timber.colour, specification.finish.colour), specification.lamination_thickness
    )
    sense = 1.0 if specification.hand is Hand.RIGHT else -1.0
    parts = plan_parts(
        surface,
        replace(specification.hub, lug_diameter=None),
        middle,
        scale,
        ways=ways,
        sense=sense,
        clocking=specification.clocking,
        wood=wood,
    )
    guard = specification.guard
    if guard:
        for way in ways:
            placing = Placing(middle, scale, way, sense)
            parts += guard_parts(surface, placing, guard.length_fraction.value, GUARD_COLOURS[guard.code])
    if specification.decal:
        parts += decals(specification.decal, ways, middle, scale * float(surface.r[-1]))
    return parts


def decals(decal: Decal, ways: list[float], middle: tuple[float, float], radius: float) -> list[str]:
    """The wording along each blade, read from the boss outward."""
    size = min(13.0, 0.5 * radius / max(len(decal.text), 4))
    parts = []
    for way in ways if decal.both_blades else ways[:1]:
        words = text(
            (decal.blade_station * radius, size / 3), decal.text, size=size, anchor="middle", strong=True
        )
        turned = f"translate({middle[0]:.2f} {middle[1]:.2f}) rotate({degrees(way):.2f})"
        parts.append(f'<g class="decal" transform="{turned}">{words}</g>')
    return parts


def mock_up_caption(specification: Specification) -> str:
    """The mock-up in words."""
    words = f"{specification.timber.name}, {specification.finish.name}"
    if specification.guard:
        words += f", {specification.guard.name}"
    if specification.decal:
        words += ", " + _("decal “%(text)s”") % {"text": specification.decal.text}
    return words
