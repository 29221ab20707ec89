"""The facts of a resolved specification in words, for a table on a page; its pictures are in `orders.pictures`."""

from collections.abc import Container

from django.utils.translation import gettext as _

from orders.pictures import unit_of
from portal.templatetags.sheet import measure, size
from quoting.propeller.drawing.lettering import bolt_words, hand_words
from quoting.propeller.drawing.sizes import size_words
from quoting.propeller.specification import Specification, Use
from quoting.services.assumptions import HAND, HUB, TIMBER


def size_of(specification: Specification, units: str = "in") -> str:
    """Diameter x pitch in the reader's unit with the other beside it."""
    diameter, pitch = specification.diameter, specification.pitch
    if units != "mm" or diameter is None or pitch is None:
        return str(size(diameter, pitch))
    return f"{size_words(diameter, pitch, 'mm')} ({size_words(diameter, pitch, 'in')})"


def title_of(specification: Specification, units: str = "in") -> str:
    """What stands above a sheet: size, blades, hand, timber."""
    return _("%(size)s, %(blades)d blades, %(timber)s") % {
        "size": size_of(specification, units),
        "blades": specification.blades,
        "timber": specification.timber.name,
    }


def facts_of(
    specification: Specification, units: str, unconfirmed: Container[str] = ()
) -> list[tuple[str, str]]:
    """The specification as rows of name and value, in the reader's units; what is `unconfirmed` says so.

    `unconfirmed` holds keys of `quoting.services.assumptions`.
    """
    s = specification

    def said(key: str, words: str) -> str:
        return _("%(words)s (assumed, not confirmed)") % {"words": words} if key in unconfirmed else words

    rows = [
        (_("For"), _("display only, NOT FOR FLIGHT") if s.use is Use.DISPLAY else _("flight")),
        (_("Size"), size_of(s, units)),
        (_("Pitch stated at"), f"{s.pitch_station:.0%} " + _("of the radius")),
        (_("Blades"), str(s.blades)),
        (_("Hand"), said(HAND, f"{_(s.hand.value)}, {hand_words(s.hand)}")),
        (_("Position"), _(s.position.value)),
        (_("Engine"), s.engine.name if s.engine else ""),
        (_("Airframe"), s.airframe.name if s.airframe else ""),
        (_("Registration"), _(s.category.value)),
        (_("Hub pattern"), said(HUB, f"{s.hub.name}: {bolt_words(s.hub, unit_of(units))}")),
        (
            _("Boss"),
            f"{measure(s.boss_diameter, units)} x {measure(s.boss_thickness, units)}"
            if s.boss_diameter
            else "",
        ),
        (_("Timber"), said(TIMBER, s.timber.name)),
        (_("Finish"), s.finish.name),
        (_("Leading-edge guard"), s.guard.name if s.guard else _("none")),
        (_("Tip form"), _(s.tip_form.value)),
        (_("Decal"), s.decal.text if s.decal else ""),
        (_("Quantity"), str(s.quantity)),
    ]
    return [(name, value) for name, value in rows if value]
