"""The pictures a customer approves: the drawing with the hub's face, or the mock-up in its timber, finish and decal."""

from dataclasses import replace
from math import degrees
from typing import TypedDict

from django.utils.translation import gettext as _

from orders.models import Approval
from orders.pictures import blade_of, plan_of, unit_of
from quoting.propeller.catalogue import Hand
from quoting.propeller.drawing.lettering import bolt_words
from quoting.propeller.drawing.plan import ROWS, Wood, directions, plan_parts
from quoting.propeller.drawing.svg import picture, text
from quoting.propeller.drawing.views import hub_svg
from quoting.propeller.loft import loft
from quoting.propeller.specification import Decal, Specification

FINISH_SHARE = 0.45
"""How much of the finish's own colour shows over the timber's; judged by eye."""
WIDTH = 640.0


class Shown(TypedDict):
    svg: str
    caption: str


def pictures_of(kind: str, specification: Specification, units: str) -> list[Shown]:
    """What is shown for one kind of approval; nothing while size or boss are not settled."""
    if blade_of(specification) is None or not specification.boss_diameter or not specification.boss_thickness:
        return []
    if kind == Approval.Kind.MOCK_UP:
        return [{"svg": mock_up(specification), "caption": mock_up_caption(specification)}]
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
    """The finished propeller: varnished timber, laminations, and the decal where it will sit."""
    blade = blade_of(specification)
    if blade is None:
        return ""
    boss, thickness = specification.boss_diameter or 0.0, specification.boss_thickness or 0.0
    surface = loft(blade, boss, thickness, count=ROWS)
    many = blade.blades > 2
    drawn = 380.0 if many else WIDTH - 44
    scale = drawn / blade.diameter
    height = drawn + 40 if many else 130.0
    middle = (WIDTH / 2, height / 2)
    wood = Wood(
        mixed(specification.timber.colour, specification.finish.colour), specification.lamination_thickness
    )
    sense = 1.0 if specification.hand is Hand.RIGHT else -1.0
    plain_hub = replace(specification.hub, lug_diameter=None)
    parts = plan_parts(
        surface,
        blade.blades,
        plain_hub,
        middle,
        scale,
        sense=sense,
        clocking=specification.clocking,
        wood=wood,
    )
    if specification.decal:
        parts += decals(specification.decal, directions(blade.blades), middle, scale * blade.radius)
    return picture(
        parts,
        WIDTH,
        height,
        title=_("Mock-up"),
        description=mock_up_caption(specification),
        name="mock-up",
    )


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
    if specification.decal:
        words += ", " + _("decal “%(text)s”") % {"text": specification.decal.text}
    return words
