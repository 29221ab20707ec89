"""What an assessment shows on a page: the drawing sheet and its views, table of stations, performance with its bands.

Drawn from the one geometry the findings came from; nothing here is stored.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from quoting.propeller.assessment import Assessment, assess
from quoting.propeller.drawing.cells import TitleBlock
from quoting.propeller.drawing.flights import FLIGHTS, FlightRow, flight_rows
from quoting.propeller.drawing.lettering import Units, both_lengths, grouped
from quoting.propeller.drawing.performance import power_svg, stress_svg, thrust_svg
from quoting.propeller.drawing.sheet import drawing_sheet
from quoting.propeller.drawing.sizes import map_svg
from quoting.propeller.drawing.views import hub_svg, sections_svg, station_words
from quoting.propeller.sizemap import sizes_about
from quoting.propeller.specification import Specification
from quoting.propeller.stations import Station, station_table
from quoting.propeller.template import pattern_template
from quoting.propeller.version import MODEL_VERSION

KEPT = 24
"""Assessments kept for the next reader of the same page: a specification never changes."""
POUND, POUND_SQUARE_FOOT = 0.45359237, 0.04214011


@dataclass(frozen=True, slots=True)
class Picture:
    """A chart and what it is called."""

    title: str
    svg: SafeString


@dataclass(frozen=True, slots=True)
class StationRow:
    """One station in words; lengths in the reader's unit without its name."""

    station: str
    chord: str
    thickness: str
    angle: str
    ahead: str
    behind: str
    front: str
    back: str
    in_root: bool


@dataclass(frozen=True, slots=True)
class Engineering:
    """Everything of one propeller for a page. Pictures are empty where there is nothing to draw.

    `differs` names the model the stored figures came from when the pictures are drawn under another.
    """

    units: Units
    sheet: SafeString
    hub: SafeString
    sections: SafeString
    stations: tuple[StationRow, ...]
    flights: tuple[FlightRow, ...]
    charts: tuple[Picture, ...]
    facts: tuple[tuple[str, str], ...]
    template_refusal: str
    model_version: str
    differs: str


@lru_cache(maxsize=KEPT)
def assessed(specification: Specification) -> Assessment:
    """The assessment of a stored specification, computed once for all its readers."""
    return assess(specification)


def engineering_of(
    assessment: Assessment,
    units: Units,
    block: TitleBlock | None = None,
    *,
    computed_under: str = "",
    name: str = "",
) -> Engineering | None:
    """What there is to show of an assessment; None when there is no geometry.

    Sheet, hub and sections are drawn when there is a title `block`. `computed_under` is the model version of the
    figures stored beside it; `name` keeps the ids of pictures apart where a page has two sets.
    """
    a = assessment
    if a.blade is None or a.boss is None:
        return None
    stations = station_table(a.blade, a.boss.diameter, a.boss.thickness, units)
    return Engineering(
        units=units,
        sheet=_ours(drawing_sheet(a, block, units).svg if block else ""),
        hub=_ours(hub_svg(a.specification, a.boss.diameter, units, name=f"{name}hub") if block else ""),
        sections=_ours(sections_svg(stations, units, name=f"{name}sections") if block else ""),
        stations=tuple(_station(s, units) for s in stations),
        flights=_flights(a, units),
        charts=_charts(a, units, name),
        facts=_facts(a, units),
        template_refusal=template_refusal(a),
        model_version=a.model_version,
        differs=computed_under if computed_under and computed_under != MODEL_VERSION else "",
    )


def engineering_stored(
    specification: Specification, units: Units, block: TitleBlock, computed_under: str
) -> Engineering | None:
    """What there is to show of a stored specification; drawn once in each language for all its readers."""
    return _stored(specification, units, block, computed_under, get_language() or "")


@lru_cache(maxsize=KEPT)
def _stored(
    specification: Specification, units: Units, block: TitleBlock, computed_under: str, _language: str
) -> Engineering | None:
    return engineering_of(assessed(specification), units, block, computed_under=computed_under)


def template_refusal(assessment: Assessment) -> str:
    """Why no drill template is made, in a sentence; "" when one is, and for a blank boss, which wants none."""
    a = assessment
    if a.specification.hub.is_blank:
        return ""
    if a.blade is None or a.boss is None:
        return _("no drill template: there is no geometry")
    try:
        pattern_template(a.specification.hub, a.boss, a.blade.blades)
    except ValueError as refused:
        return str(refused)
    return ""


def _ours(svg: str) -> SafeString:
    return mark_safe(svg)  # noqa: S308 -- drawn by quoting.propeller.drawing, customer text escaped


def _flights(a: Assessment, units: Units) -> tuple[FlightRow, ...]:
    if a.performance is None:
        return ()
    words = {
        "static": _("standing"),
        "take-off": _("take-off run"),
        "climb": _("climb"),
        "cruise": _("level at cruising speed"),
        "top": _("top speed"),
    }
    said = {FLIGHTS[key]: word for key, word in words.items()}
    return tuple(replace(row, name=said.get(row.name, row.name)) for row in flight_rows(a.performance, units))


def _charts(a: Assessment, units: Units, name: str) -> tuple[Picture, ...]:
    drawn = []
    if a.performance is not None:
        power = power_svg(a.performance, units, name=f"{name}power")
        thrust = thrust_svg(a.performance, units, name=f"{name}thrust")
        drawn += [(_("Power against rpm"), power), (_("Thrust and efficiency against speed"), thrust)]
    sizes = sizes_about(a)
    if sizes is not None and a.blade is not None:
        own = (a.blade.diameter, a.specification.pitch or 0.0)
        chart = map_svg(sizes, *own, a.recommendations, units, name=f"{name}sizes")
        drawn.append((_("Map of sizes"), chart))
    if a.strength is not None:
        drawn.append((_("Stress along the blade"), stress_svg(a.strength, units, name=f"{name}stress")))
    return tuple(Picture(title, _ours(svg)) for title, svg in drawn)


def _facts(a: Assessment, units: Units) -> tuple[tuple[str, str], ...]:
    """Mass, inertia, stress and deflection with their bands."""
    rows = []
    if a.mass is not None:
        per, unit = (POUND, "lb") if units == "in" else (1.0, "kg")
        rows.append((_("Mass"), _band(a.mass.total, a.bands["mass"], per, unit, 1)))
        per, unit = (POUND_SQUARE_FOOT, "lb ft²") if units == "in" else (1.0, "kg m²")
        digits = 1 if units == "in" else 3
        rows.append((_("Moment of inertia"), _band(a.mass.inertia, a.bands["inertia"], per, unit, digits)))
    if a.strength is not None:
        worst = a.strength.worst
        where = f"{worst.name}, {worst.worst_station:.2f} " + _("of the radius")
        if worst.tension_factor is not None:
            rows.append((_("Strength over stress"), f"{worst.tension_factor:.1f} ({where})"))
        if worst.tip_deflection is not None:
            rows.append((_("Tip bends"), both_lengths(abs(round(worst.tip_deflection, 4)), units)))
    if a.lamination is not None:
        rows.append(
            (_("Laminations"), f"{a.lamination.layers} x {both_lengths(a.lamination.thickness, units)}")
        )
    return tuple(rows)


def _band(value: float, share: float, per: float, unit: str, digits: int) -> str:
    low, high = (value * (1 + sign * share) / per for sign in (-1, 1))
    return f"{grouped(low, digits)} \N{EN DASH} {grouped(high, digits)} {unit}"


def _station(s: Station, units: Units) -> StationRow:
    per, digits = (0.0254, 2) if units == "in" else (0.001, 1)

    def length(value: float) -> str:
        return f"{value / per:.{digits}f}"

    return StationRow(
        station=station_words(s.r, units),
        chord=length(s.chord),
        thickness=length(s.thickness),
        angle=f"{s.angle:.1f}",
        ahead=length(s.ahead),
        behind=length(s.behind),
        front=length(s.front),
        back=length(s.back),
        in_root=s.in_root,
    )
