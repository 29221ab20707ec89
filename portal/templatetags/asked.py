"""What a customer typed on the ask page, by the page's own labels, choices and units."""

from collections.abc import Mapping
from typing import Any

from django import template
from django.utils.translation import gettext as _

from portal.forms.ask import PropellerForm
from quoting.services.asked import LENGTHS
from quoting.services.catalogue import catalogue
from quoting.services.written import figure_of

register = template.Library()

UNITS = {
    "length_unit": ("in", "length", LENGTHS),
    "speed_unit": ("mph", "speed", ("top_speed", "cruise_speed")),
    "power_unit": ("hp", "power", ("power",)),
    "altitude_unit": ("m", "length", ("altitude",)),
}
"""Each field that names a unit, the unit when it is empty, its quantity, and the fields it stands for."""


@register.filter
def asked_rows(typed: Mapping[str, Any]) -> list[tuple[str, str]]:
    """What was typed about the propeller, in the order of the ask page; units stand with their figures."""
    form = PropellerForm(catalogue=catalogue())
    unit_of = {
        field: (quantity, unit := str(typed.get(name) or usual), _said(form, name, unit))
        for name, (usual, quantity, fields) in UNITS.items()
        for field in fields
    }
    rows = []
    for name, field in form.fields.items():
        value = str(typed.get(name) or "")
        if not value or name in UNITS:
            continue
        said = str(_("yes")) if value == "on" else _said(form, name, value)
        if name in unit_of:
            said = _with_unit(said, *unit_of[name])
        rows.append((str(field.label), said))
    return rows


def _with_unit(said: str, quantity: str, unit: str, words: str) -> str:
    """A figure with its unit in words, unless it carries its own."""
    is_bare = figure_of(said, quantity, unit) == figure_of(f"{said} {unit}", quantity, unit)
    return f"{said} {words}" if is_bare else said


def _said(form: PropellerForm, name: str, value: str) -> str:
    """A value in the words of its choice, or as typed."""
    choices = getattr(form.fields[name], "choices", ())
    return str(dict(choices).get(value, value))
