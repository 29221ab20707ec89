"""From what is typed on the ask page, or sent to the API, to a full specification: every field read strictly.

Fields, all optional unless said; an empty one takes the default named, or a finding of code "missing" says that an
answer needs it. Numbers are ASCII digits with a point or comma, thousands parted by spaces if at all; inches may be
fractions such as 4-3/8. `length_unit` in | mm is the unit of every length, unless one stands after the number: 54",
1372 mm, 6' 2", 37 kW, 2 300 rpm. Codes of choices are the enumeration's names in small letters with dashes.

use: flight (default) | display; category: registration category, default the airframe's, else unknown
airframe: code; airframe_name: when not listed; gear: nose-wheel | tail-wheel | floats; position: tractor | pusher
top_speed, cruise_speed in speed_unit mph | kt | km/h; hub_height of the shaft above ground; free_radius round the shaft
engine: code; engine_name, power in power_unit hp | kW | PS | W, engine_rpm, gear_ratio: own figures
rotation: clockwise | anticlockwise, the flange as seen by someone facing it, where the catalogue does not know
hand: right | left, default as the engine turns; blades: 2 (default), 3 or 4
hub: code; bolts, circle, hole, pilot, lug_diameter, lug_depth: as measured, 0 for no pilot or lugs
wish: recommend | known | copy | engine-only; diameter, pitch; pitch_station in percent of the radius, default 75
boss_diameter, boss_thickness; clocking in degrees; quiet: on; quantity: 1 to 500
timber, glue, finish, guard, tip_form: codes; lamination_thickness; stepped_laminations: on (default) | off
decal_text; decal_station in percent of the radius; decal_both: on (default) | off
face_plate_thickness, spacer_thickness, spinner_diameter, bolt_length; bolts_ordered: on
altitude in m or altitude_unit ft; moisture in percent; humidity in percent; temperature in degrees C
country: two letters; delivery: ship (default) | collect; rush: on
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from quoting.propeller.catalogue import (
    Airframe,
    Category,
    EdgeGuard,
    Engine,
    Finish,
    Glue,
    Position,
    Timber,
    TipForm,
)
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.specification import Decal, Hardware, Specification, Use, Wish
from quoting.services.asked_parts import AS_MEASURED, asked_airframe, asked_engine, asked_hand, asked_hub
from quoting.services.catalogue import Catalogue
from quoting.services.reading import Reading, unit_words

LENGTH_UNITS = ("in", "mm")
SPEED_UNITS = ("mph", "kt", "km/h", "m/s")
LONGEST_DECAL = 60
_GIVE_DIAMETER = gettext_lazy("Give the diameter in %(unit)s, or ask for a recommendation.")
_GIVE_PITCH = gettext_lazy("Give the pitch in %(unit)s, or ask for a recommendation.")
LENGTHS = (
    *("hub_height", "free_radius", "circle", "hole", "pilot", "lug_diameter", "lug_depth"),
    *("boss_diameter", "boss_thickness", "face_plate_thickness", "spacer_thickness", "spinner_diameter"),
    *("bolt_length", "diameter", "pitch", "lamination_thickness"),
)
"""The fields typed in `length_unit`."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked for. `specification` is None while a field needs mending; `findings` name each such field.

    A stop beside a specification withholds price and date until the owner overrides it.
    `country` is "" when none was typed; `collected` when the customer fetches the propeller.
    """

    specification: Specification | None
    findings: tuple[Finding, ...]
    country: str
    collected: bool
    rush: bool


@dataclass(frozen=True, slots=True)
class _Size:
    """What the customer says about the size, in m."""

    wish: Wish
    diameter: float | None
    pitch: float | None
    pitch_station: float


def asked(typed: Mapping[str, Any], catalogue: Catalogue) -> Asked:
    """Read every field; all that needs mending is reported at once."""
    reading = Reading(typed)
    unit = reading.word("length_unit", LENGTH_UNITS, "in")
    country = _country(reading)
    collected = reading.word("delivery", ("ship", "collect"), "ship") == "collect"
    rush = reading.flag("rush")
    specification = _specification(reading, catalogue, unit)
    mended = not any(f.severity is Severity.STOP for f in reading.findings)
    if mended and specification is not None:
        _display_only(reading, specification)
    return Asked(specification if mended else None, tuple(reading.findings), country, collected, rush)


def _specification(reading: Reading, catalogue: Catalogue, unit: str) -> Specification | None:
    use = reading.choice("use", Use) or Use.FLIGHT
    display = use is Use.DISPLAY
    engine = asked_engine(reading, catalogue)
    airframe = asked_airframe(reading, catalogue)
    position = _position(reading, airframe)
    if engine is None and airframe and len(airframe.usual_engine_codes) == 1 and not reading.has("engine"):
        engine = catalogue.engines.get(airframe.usual_engine_codes[0])
    hub = asked_hub(reading, catalogue, engine, unit, display=display)
    size = _size(reading, unit, engine, airframe, display=display)
    timber = _timber(reading, catalogue, display=display)
    glue: Glue | None = _row_or_first(reading, "glue", catalogue.glues)
    finish: Finish | None = _row_or_first(reading, "finish", catalogue.finishes)
    options = _options(reading, catalogue, unit)
    category = reading.choice("category", Category) or (airframe.category if airframe else Category.UNKNOWN)
    if display and not reading.has("category") and airframe is None:
        category = Category.NOT_REGISTERED
    hand = asked_hand(reading, engine, position, display=display)
    blades = reading.whole("blades", 2, 4) or 2
    if hub is None or timber is None or glue is None or finish is None:
        return None
    made = Specification(
        use=use,
        category=category,
        position=position,
        hand=hand,
        blades=blades,
        wish=size.wish,
        diameter=size.diameter,
        pitch=size.pitch,
        engine=engine,
        airframe=airframe,
        hub=hub,
        timber=timber,
        glue=glue,
        finish=finish,
        pitch_station=size.pitch_station,
        **options,
    )
    _contradictions(reading, made)
    return made


def _display_only(reading: Reading, made: Specification) -> None:
    """Stop what the workshop keeps for display pieces from being priced for flight without the owner's word."""
    if made.use is Use.DISPLAY:
        return
    for name, row in (("timber", made.timber), ("glue", made.glue), ("finish", made.finish)):
        if not row.suitable_for_flight:
            message = _(
                "%(name)s is kept for display pieces: choose another for flight, or a display piece. Price and date wait "
                "for the workshop's own decision."
            )
            reading.tell(name, "display-only", Severity.STOP, message % {"name": row.name})


def _position(reading: Reading, airframe: Airframe | None) -> Position:
    chosen = reading.choice("position", Position)
    if chosen and airframe and chosen is not airframe.position:
        reading.mend(
            "position",
            "position-contradiction",
            _("%(name)s is a %(position)s: choose that, or type your own airframe's name.")
            % {"name": airframe.name, "position": airframe.position},
        )
    return chosen or (airframe.position if airframe else Position.TRACTOR)


def _size(
    reading: Reading, unit: str, engine: Engine | None, airframe: Airframe | None, *, display: bool
) -> _Size:
    diameter = reading.amount("diameter", "length", unit, 0.5, 4.0, example="72" if unit == "in" else "1830")
    pitch = reading.amount("pitch", "length", unit, 0.1, 4.0, example="44" if unit == "in" else "1120")
    station = reading.amount("pitch_station", "fraction", "%", 0.5, 0.9)
    typed_size = reading.has("diameter") or reading.has("pitch")
    wish = reading.choice("wish", Wish) or (Wish.KNOWN if typed_size else Wish.RECOMMEND)
    if wish in (Wish.KNOWN, Wish.COPY):
        for name in ("diameter", "pitch"):
            if not reading.has(name):
                lacking = _GIVE_DIAMETER if name == "diameter" else _GIVE_PITCH
                reading.lack(name, lacking % {"unit": unit_words(unit)})
    elif typed_size:
        reading.mend(
            "wish",
            "size-contradiction",
            _(
                "You typed a size and ask for a recommendation: choose that you know it, or clear diameter and pitch."
            ),
        )
    elif engine is None or engine.rated_power is None or engine.rated_speed is None:
        message = _("A recommendation needs the engine: choose it, or give its power and speed.")
        if display:
            message = _("Give diameter and pitch, or the engine it belonged to.")
        reading.lack("diameter" if display else "engine", message)
    elif not reading.has("top_speed") and (airframe is None or airframe.top_speed is None):
        reading.lack("top_speed", _("A recommendation needs the airframe's top speed in level flight."))
    if diameter and pitch and pitch > 2.0 * diameter:
        reading.mend(
            "pitch",
            "size-contradiction",
            _("A pitch of more than twice the diameter is not made: check both."),
        )
    return _Size(wish, diameter, pitch, station or 0.75)


def _timber(reading: Reading, catalogue: Catalogue, *, display: bool) -> Timber | None:
    chosen: Timber | None = reading.row("timber", catalogue.timbers)
    if chosen or reading.has("timber"):
        return chosen
    fit = [t for t in catalogue.timbers.values() if display or t.suitable_for_flight]
    usual = catalogue.timbers.get("yellow-birch") or next(iter(fit), None)
    if usual is None:
        reading.mend("timber", "timber-missing", _("Choose a timber from the list."))
        return None
    reading.tell(
        "timber",
        "timber-assumed",
        Severity.NOTE,
        _("No timber chosen: answered for %(name)s.") % {"name": usual.name},
    )
    return usual


def _row_or_first(reading: Reading, name: str, rows: Mapping[str, Any]) -> Any | None:
    chosen = reading.row(name, rows)
    if chosen or reading.has(name):
        return chosen
    first = next(iter(rows.values()), None)
    if first is None:
        reading.mend(name, f"{name}-missing", _("Choose one from the list."))
    return first


def _options(reading: Reading, catalogue: Catalogue, unit: str) -> dict[str, Any]:
    """The parts of a specification that have defaults: only what was typed."""
    guard: EdgeGuard | None = reading.row("guard", catalogue.edge_guards)
    speed = reading.word("speed_unit", SPEED_UNITS, "mph")
    height = reading.word("altitude_unit", ("m", "ft"), "m")
    chosen = {
        "guard": guard,
        "tip_form": reading.choice("tip_form", TipForm),
        "boss_diameter": reading.amount("boss_diameter", "length", unit, 0.05, 0.5),
        "boss_thickness": reading.amount("boss_thickness", "length", unit, 0.03, 0.3),
        "clocking": reading.amount("clocking", "number", "1", 0, 359.999, example="30", also=("°", "deg")),
        "lamination_thickness": reading.amount("lamination_thickness", "length", unit, 0.003, 0.06),
        "decal": _decal(reading),
        "hardware": _hardware(reading, unit),
        "top_speed": reading.amount("top_speed", "speed", speed, 10, 180),
        "cruise_speed": reading.amount("cruise_speed", "speed", speed, 8, 170),
        "hub_height": reading.amount("hub_height", "length", unit, 0.3, 6),
        "free_radius": reading.amount("free_radius", "length", unit, 0.3, 4),
        "altitude": reading.amount("altitude", "length", height, 0, 6000),
        "moisture": reading.amount("moisture", "number", "1", 4, 25, example="10", also=("%",)),
        "climate_humidity": reading.amount("humidity", "fraction", "%", 0.05, 0.98),
        "climate_temperature": reading.amount("temperature", "temperature", "degC", 0, 50),
        "quiet": reading.flag("quiet"),
        "stepped_laminations": reading.flag("stepped_laminations", default=True),
        "quantity": reading.whole("quantity", 1, 500),
        "entered_unit": unit,
    }
    return {name: value for name, value in chosen.items() if value is not None}


def _decal(reading: Reading) -> Decal | None:
    text = reading.text("decal_text", LONGEST_DECAL)
    station = reading.amount("decal_station", "fraction", "%", 0.25, 0.9)
    both = reading.flag("decal_both", default=True)
    return Decal(text, station or 0.6, both) if text else None


def _hardware(reading: Reading, unit: str) -> Hardware:
    plain = Hardware()
    return replace(
        plain,
        face_plate_thickness=reading.amount("face_plate_thickness", "length", unit, 0, 0.03) or 0.0,
        spacer_thickness=reading.amount("spacer_thickness", "length", unit, 0, 0.3) or 0.0,
        spinner_diameter=reading.amount("spinner_diameter", "length", unit, 0, 0.8) or 0.0,
        bolt_length=reading.amount("bolt_length", "length", unit, 0.03, 0.5),
        bolts_ordered=reading.flag("bolts_ordered"),
    )


def _contradictions(reading: Reading, made: Specification) -> None:
    """Figures typed that cannot both be right."""
    if made.top_speed and made.cruise_speed and made.cruise_speed > made.top_speed:
        reading.mend("cruise_speed", "speed-contradiction", _("Cruising speed must not be above top speed."))
    boss = made.boss_diameter
    circle, hole = (f.value if f else 0.0 for f in (made.hub.circle, made.hub.hole))
    if boss and boss <= circle + hole:
        reading.mend(
            "boss_diameter",
            "boss-contradiction",
            _("The boss must be larger than the bolt circle plus one hole."),
        )
    if boss and made.diameter and boss > made.diameter / 3:
        reading.mend(
            "boss_diameter", "boss-contradiction", _("The boss must be at most a third of the diameter.")
        )
    if made.use is Use.FLIGHT and made.hub.code == AS_MEASURED and made.hub.circle is None:
        reading.tell(
            "circle",
            "hub-not-measured",
            Severity.CAUTION,
            _(
                "The bolt circle is not known: measure number of holes, circle, hole and pilot before you order."
            ),
        )


def _country(reading: Reading) -> str:
    country = reading.raw("country")
    if country and not (len(country) == 2 and country.isascii() and country.isalpha() and country.isupper()):
        reading.mend(
            "country", "not-a-country", _("Give the country as two capital letters, such as DE or US.")
        )
        return ""
    return country
