"""Pictures and summaries of an accepted or offered propeller for the papers, from its stored specification."""

from datetime import date
from typing import Any

from orders.pictures import blade_of
from quoting.leadtime.outlook import Forecast
from quoting.propeller.drawing.lettering import bolt_words, both_lengths, hand_words
from quoting.propeller.drawing.plan import Wood, propeller_svg
from quoting.propeller.drawing.readiness import range_svg
from quoting.propeller.measures import Measures
from quoting.propeller.specification import Specification
from quoting.propeller.stations import station_table

MM = 1000.0


def drawing(specification: Specification, measures: Measures) -> dict[str, str]:
    """The scale drawing as SVG, with words for readers who cannot see it."""
    blade = blade_of(specification)
    assert blade is not None
    svg = propeller_svg(
        blade, measures.boss_diameter, measures.boss_thickness, specification.hub,
        hand=specification.hand, position=specification.position, clocking=specification.clocking,
        wood=Wood(specification.timber.colour, specification.lamination_thickness),
    )  # fmt: skip
    words = (
        f"A propeller of {measures.blades} blades, {both_lengths(measures.diameter, 'in')}, "
        f"{hand_words(specification.hand)}, seen from its slipstream"
    )
    return {"svg": svg, "words": words}


def forecast_picture(forecast: Forecast, as_of: date, promise: date | None) -> dict[str, str]:
    """The forecast's curve, left out where its dates cannot be drawn."""
    try:
        svg = range_svg(
            forecast.likely_by, forecast.plan_on, forecast.nineteen_in_twenty, as_of, promise=promise
        )
    except ValueError:
        return {}
    return {"svg": svg}


def propeller_summary(
    specification: Specification, measures: Measures, *, weighed: float | None = None
) -> list[dict[str, str]]:
    """What it is, in label and value rows; `weighed` is the mass found at the inspection, in kg."""
    rows = {
        "Use": specification.use.value,
        "Registration category": specification.category.value,
        "Size": f"{both_lengths(measures.diameter, 'in')} x {both_lengths(measures.pitch, 'in')},"
        f" pitch at {specification.pitch_station:.0%} of the radius",
        "Blades": str(measures.blades),
        "Hand": f"{hand_words(specification.hand)}, {specification.position.value}",
        "Hub": f"{specification.hub.name}: {bolt_words(specification.hub, 'in')}",
        "Boss": f"{both_lengths(measures.boss_diameter, 'in')} wide, {both_lengths(measures.boss_thickness, 'in')} thick",
        "Timber": f"{specification.timber.name}, {measures.laminations} laminations",
        "Finish": _finish(specification),
        "Mass": f"{measures.mass:.1f} kg, computed" if weighed is None else f"{weighed:g} kg, weighed",
    }
    if specification.engine:
        rows["Engine"] = specification.engine.name
    if specification.decal:
        rows["Decal"] = specification.decal.text
    return [{"label": label, "value": value} for label, value in rows.items()]


def _finish(specification: Specification) -> str:
    """The finish, its coats counted where its name does not say so already."""
    finish = specification.finish
    return finish.name if "coat" in finish.name else f"{finish.name}, {finish.coats} coats"


def stations(specification: Specification, measures: Measures) -> list[dict[str, Any]]:
    """The drawing's own stations outside the root's blend, in mm and degrees: chord, thickness, angle to the flat face."""
    blade = blade_of(specification)
    assert blade is not None
    return [
        {
            "station": f"{s.r * MM:.0f}",
            "chord": f"{s.chord * MM:.1f}",
            "thickness": f"{s.thickness * MM:.1f}",
            "angle": f"{s.angle:.2f}",
        }
        for s in station_table(blade, measures.boss_diameter, measures.boss_thickness, "mm")
        if not s.in_root
    ]
