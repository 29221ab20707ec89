"""What a customer typed on the ask page, by the page's own labels, choices and units."""

from collections.abc import Mapping
from typing import Any

from django import template
from django.utils.translation import gettext as _

from portal.forms.ask import PropellerForm
from quoting.services.catalogue import catalogue

register = template.Library()

UNITS = {
    "length_unit": (
        "in",
        (
            "hub_height free_radius circle hole pilot lug_diameter lug_depth boss_diameter boss_thickness "
            "face_plate_thickness spacer_thickness spinner_diameter bolt_length diameter pitch lamination_thickness"
        ).split(),
    ),
    "speed_unit": ("mph", ["top_speed", "cruise_speed"]),
    "power_unit": ("hp", ["power"]),
    "altitude_unit": ("m", ["altitude"]),
}
"""Each field that names a unit, the unit when it is empty, and the fields it stands for."""


@register.filter
def asked_rows(typed: Mapping[str, Any]) -> list[tuple[str, str]]:
    """What was typed about the propeller, in the order of the ask page; units stand with their figures."""
    form = PropellerForm(catalogue=catalogue())
    unit_of = {
        field: _said(form, name, str(typed.get(name) or usual))
        for name, (usual, fields) in UNITS.items()
        for field in fields
    }
    rows = []
    for name, field in form.fields.items():
        value = typed.get(name)
        if not value or name in UNITS:
            continue
        said = _("yes") if value == "on" else _said(form, name, str(value))
        if name in unit_of and not said.lower().endswith(("in", "mm", '"')):
            said = f"{said} {unit_of[name]}"
        rows.append((str(field.label), said))
    return rows


def _said(form: PropellerForm, name: str, value: str) -> str:
    """A value in the words of its choice, or as typed."""
    choices = getattr(form.fields[name], "choices", ())
    return str(dict(choices).get(value, value))
