"""Engine, airframe and hub as asked for: a catalogue row, the customer's own figures, or the one corrected by the other."""

from dataclasses import replace
from typing import Any

from django.utils.translation import gettext as _

from quoting.propeller.catalogue import Airframe, Category, Engine, Gear, Hand, HubPattern, Position, Rotation
from quoting.propeller.figure import Figure, Trust
from quoting.propeller.finding import Severity
from quoting.services.catalogue import Catalogue
from quoting.services.reading import Reading
from quoting.services.units import UNITS

OWN = "own"
"""Code of an engine or airframe that is not in the catalogue."""
AS_MEASURED = "as-measured"
BLANK_BOSS = "blank-boss"
MEASURED_BY_CUSTOMER = "as typed by the customer"


def measured(value: float | None) -> Figure | None:
    return None if value is None else Figure(value, Trust.MEASURED, MEASURED_BY_CUSTOMER)


def asked_engine(reading: Reading, catalogue: Catalogue) -> Engine | None:
    """The engine; the customer's own power, speed and gear go before the catalogue's. None when nothing is said."""
    listed: Engine | None = reading.row("engine", catalogue.engines)
    name = reading.text("engine_name", 80)
    unit = reading.word("power_unit", UNITS["power"], "hp")
    own = {
        "rated_power": measured(reading.amount("power", "power", unit, 3_000, 750_000)),
        "rated_speed": measured(reading.amount("engine_rpm", "rotation", "rpm", 8, 150)),
        "gear_ratio": measured(
            reading.amount("gear_ratio", "number", "1", 0.5, 6, example="2.43", also=(":1", "to1"))
        ),
    }
    given: dict[str, Any] = {key: value for key, value in own.items() if value is not None}
    given |= _asked_rotation(reading, listed)
    if listed:
        return replace(listed, **given)
    if not name and not given:
        return None
    unnamed = _("not listed")
    ungeared = Figure(1.0, Trust.MEASURED, _("no gear typed: taken as direct drive"))
    return Engine(
        code=OWN,
        name=name or unnamed,
        rated_power=own["rated_power"],
        rated_speed=own["rated_speed"],
        gear_ratio=own["gear_ratio"] or ungeared,
        cylinders=None,
        strokes=None,
        hand_as_tractor=given.get("hand_as_tractor"),
        hand_source=given.get("hand_source", ""),
        rotation=given.get("rotation"),
        hub_codes=(),
        inertia_limit=None,
        unbalance_limit=None,
        torque_limit=None,
        power_curve=(),
        remark="",
    )


def _asked_rotation(reading: Reading, listed: Engine | None) -> dict[str, Any]:
    """Rotation as the customer sees it facing the flange, and the hand of a tractor propeller that follows."""
    seen = reading.choice("rotation", Rotation)
    if seen is None:
        return {}
    if listed and listed.rotation and listed.rotation is not seen:
        reading.mend(
            "rotation",
            "rotation-contradiction",
            _("%(name)s turns %(rotation)s in our catalogue: choose that, or name your engine as not listed.")
            % {"name": listed.name, "rotation": listed.rotation},
        )
    hand = Hand.RIGHT if seen is Rotation.ANTICLOCKWISE else Hand.LEFT
    return {"rotation": seen, "hand_as_tractor": hand, "hand_source": MEASURED_BY_CUSTOMER}


def asked_airframe(reading: Reading, catalogue: Catalogue) -> Airframe | None:
    """The airframe from the list, or one with the customer's name for it; None when nothing is said."""
    listed: Airframe | None = reading.row("airframe", catalogue.airframes)
    name = reading.text("airframe_name", 80)
    category = reading.choice("category", Category)
    position = reading.choice("position", Position)
    gear = reading.choice("gear", Gear)
    if listed:
        given: dict[str, Any] = {"category": category, "gear": gear}
        return replace(listed, **{key: value for key, value in given.items() if value is not None})
    if not name:
        return None
    nothing: dict[str, Any] = dict.fromkeys(
        "cruise_speed top_speed never_exceed_speed stall_speed climb_speed diameter_min diameter_max"
        " static_speed_min static_speed_max hub_height".split()
    )
    return Airframe(
        code=OWN,
        name=name,
        category=category or Category.UNKNOWN,
        position=position or Position.TRACTOR,
        gear=gear,
        usual_engine_codes=(),
        remark="",
        **nothing,
    )


def asked_hub(
    reading: Reading, catalogue: Catalogue, engine: Engine | None, unit: str, *, display: bool
) -> HubPattern | None:
    """The hub pattern: from the list, completed by what was measured, or the engine's usual one.

    None only when the catalogue holds no general pattern or a field needs mending.
    """
    listed: HubPattern | None = reading.row("hub", catalogue.hub_patterns)
    bolts = reading.whole("bolts", 2, 24)
    lengths = {
        "circle": measured(reading.amount("circle", "length", unit, 0.03, 0.5)),
        "hole": measured(reading.amount("hole", "length", unit, 0.003, 0.05)),
        "pilot": measured(reading.amount("pilot", "length", unit, 0.01, 0.4, none_at_zero=True)),
        "lug_diameter": measured(
            reading.amount("lug_diameter", "length", unit, 0.005, 0.08, none_at_zero=True)
        ),
        "lug_depth": measured(reading.amount("lug_depth", "length", unit, 0.001, 0.1, none_at_zero=True)),
    }
    given: dict[str, Any] = {key: value for key, value in lengths.items() if value is not None}
    if listed is None and reading.has("hub"):
        return None
    drilled = bool(bolts or given.keys() - {"pilot"})
    base = listed or _usual_hub(
        reading, catalogue, engine, typed=bool(given or bolts), drilled=drilled, display=display
    )
    if base is None:
        return None
    if base.is_blank and not display:
        reading.mend(
            "hub", "no-holes-for-flight", _("A blank boss is for display: choose the pattern of your hub.")
        )
    _contradictions(reading, base, bolts, given)
    _none_against(reading, base, [name for name, figure in lengths.items() if figure is None])
    completed = replace(base, **given, bolts=base.bolts if bolts is None else bolts)
    _fits_together(reading, completed)
    return replace(completed, entered_unit=unit) if base.code == AS_MEASURED else completed


def asked_hand(reading: Reading, engine: Engine | None, position: Position, *, display: bool) -> Hand:
    """The hand as chosen, else as the engine turns, else right with a caution; a note for what never turns."""
    chosen = reading.choice("hand", Hand)
    turned = None if engine is None else engine.hand_as_tractor
    if turned and position is Position.PUSHER:
        turned = Hand.LEFT if turned is Hand.RIGHT else Hand.RIGHT
    if chosen or turned:
        return chosen or turned or Hand.RIGHT
    if display:
        words = _("No hand chosen: answered for a right-hand propeller.")
        reading.tell("hand", "hand-assumed", Severity.NOTE, words)
        return Hand.RIGHT
    reading.tell(
        "hand",
        "hand-not-known",
        Severity.CAUTION,
        _(
            "The hand is not known: answered for a right-hand propeller. Look at your engine before you order."
        ),
    )
    return Hand.RIGHT


def _usual_hub(
    reading: Reading,
    catalogue: Catalogue,
    engine: Engine | None,
    *,
    typed: bool,
    drilled: bool,
    display: bool,
) -> HubPattern | None:
    """The pattern where none is chosen. `typed` whether anything was measured, `drilled` whether more than the bore."""
    if display and not drilled and BLANK_BOSS in catalogue.hub_patterns:
        return catalogue.hub_patterns[BLANK_BOSS]
    usual = [
        catalogue.hub_patterns[c] for c in (engine.hub_codes if engine else ()) if c in catalogue.hub_patterns
    ]
    if usual and not typed:
        reading.tell(
            "hub",
            "hub-assumed",
            Severity.CAUTION if len(usual) > 1 else Severity.NOTE,
            _("No hub chosen: answered for %(name)s, usual on this engine. Measure yours.")
            % {"name": usual[0].name},
        )
        return usual[0]
    general = catalogue.hub_patterns.get(AS_MEASURED)
    if general is None:
        reading.mend("hub", "hub-missing", _("Choose a hub pattern from the list."))
    return general


def _contradictions(reading: Reading, base: HubPattern, bolts: int | None, given: dict[str, Figure]) -> None:
    """What was measured against a listed pattern's dependable figures, and holes in a blank boss."""
    if base.is_blank:
        holes = {"bolts": bolts, **{name: figure for name, figure in given.items() if name != "pilot"}}
        message = _("A blank boss has no bolt holes: choose the general pattern if yours has.")
        for field in (name for name, value in holes.items() if value is not None):
            reading.mend(field, "hub-contradiction", message)
        return
    other = _("%(name)s has %(figure)s; choose the general pattern if yours differs.")
    if bolts and base.bolts and bolts != base.bolts:
        reading.mend("bolts", "hub-contradiction", other % {"name": base.name, "figure": base.bolts})
    for field, figure in given.items():
        listed: Figure | None = getattr(base, field)
        if listed and listed.trust.may_stop and abs(figure.value - listed.value) > 0.0003:
            shown = f"{listed.value * 1000:.4g} mm ({listed.value / 0.0254:.4g} in)"
            reading.mend(field, "hub-contradiction", other % {"name": base.name, "figure": shown})


def _none_against(reading: Reading, base: HubPattern, absent: list[str]) -> None:
    """A 0 typed, which says there is none, where the listed pattern has one."""
    refused = {finding.field for finding in reading.findings}
    for field in absent:
        if reading.has(field) and field not in refused and getattr(base, field):
            message = _("%(name)s has one: measure yours, or choose the general pattern.") % {
                "name": base.name
            }
            reading.mend(field, "hub-contradiction", message)


def _fits_together(reading: Reading, hub: HubPattern) -> None:
    """Holes clear of the centre bore and of each other."""
    circle, hole, pilot = (f.value if f else None for f in (hub.circle, hub.hole, hub.pilot))
    if circle is None:
        return
    if pilot is not None and pilot + (hole or 0.0) >= circle:
        reading.mend(
            "pilot", "hub-contradiction", _("The pilot must be smaller than the bolt circle less one hole.")
        )
    if hole is not None and hub.bolts and hub.bolts * hole >= 3.0 * circle:
        reading.mend("hole", "hub-contradiction", _("So many holes of this size do not fit on the circle."))
