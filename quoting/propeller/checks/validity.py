"""Whether a specification can be computed at all: numbers, counts and proportions, each answered at its field."""

import dataclasses
from collections.abc import Iterator
from math import isfinite

from quoting.propeller.catalogue import Airframe, EdgeGuard, Engine, Finish, Glue, HubPattern, Timber
from quoting.propeller.checks import words
from quoting.propeller.figure import Figure, known
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.hub import THICKEST_BOSS
from quoting.propeller.specification import Specification, Use, Wish

SOURCE = "the range this computation was checked for"
INCH = 0.0254

RANGES: dict[str, tuple[float, float, float, str]] = {
    # field: lowest and highest accepted in SI, factor to the unit shown, unit shown; m and m/s in the customer's
    "diameter": (20 * INCH, 144 * INCH, 1.0, "m"),
    "pitch": (6 * INCH, 150 * INCH, 1.0, "m"),
    "pitch_station": (0.5, 0.9, 1.0, "of the radius"),
    "chord_factor": (0.8, 1.25, 1.0, "times the usual chord"),
    "boss_diameter": (0.060, 0.300, 1.0, "m"),
    "boss_thickness": (0.025, THICKEST_BOSS, 1.0, "m"),
    "clocking": (-360.0, 360.0, 1.0, "degrees"),
    "lamination_thickness": (0.006, 0.050, 1.0, "m"),
    "top_speed": (15.0, 160.0, 1.0, "m/s"),
    "cruise_speed": (12.0, 150.0, 1.0, "m/s"),
    "hub_height": (0.3, 4.0, 1.0, "m"),
    "free_radius": (0.2, 4.0, 1.0, "m"),
    "altitude": (-400.0, 6000.0, 1 / 0.3048, "ft"),
    "moisture": (3.0, 28.0, 1.0, "%"),
    "climate_humidity": (0.05, 0.95, 100.0, "%"),
    "climate_temperature": (-20.0, 50.0, 1.0, "degrees C"),
}
BLADES = (2, 3, 4)
PITCH_PER_DIAMETER = (0.25, 1.60)
BOSS_PER_DIAMETER = 0.22
MOST_COPIES = 500
MOST_COATS = 20

_HARDWARE = {
    "face_plate_thickness": 0.05,
    "spacer_thickness": 0.40,
    "spinner_diameter": 1.0,
}


def validate(specification: Specification) -> tuple[Finding, ...]:
    """Stops at the fields that cannot be computed; empty when everything can.

    Run before anything else: nothing here raises or warns, whatever numbers come in.
    """
    found = list(_numbers(specification))
    if not found:
        found += _proportions(specification)
    return tuple(found)


def _stop(
    code: str, field: str, message: str, figure: float | None = None, limit: float | None = None
) -> Finding:
    shown = figure if figure is not None and isfinite(figure) else None
    return Finding(code, Severity.STOP, field, shown, limit, "", message, SOURCE)


def _numbers(specification: Specification) -> Iterator[Finding]:
    for name, (low, high, factor, unit) in RANGES.items():
        value = getattr(specification, name)
        if value is not None and not low <= value <= high:
            yield _out_of_range(name, value, low, high, factor, unit, specification.entered_unit)
    if specification.blades not in BLADES:
        yield _stop(
            "blade-count", "blades", "We make propellers with 2, 3 or 4 blades.", specification.blades
        )
    if not 1 <= specification.quantity <= MOST_COPIES:
        yield _stop(
            "out-of-range", "quantity", f"Ask for 1 to {MOST_COPIES} propellers.", specification.quantity
        )
    yield from _hardware(specification)
    yield from _decoration(specification)
    yield from _size_given(specification)
    yield from _catalogue(specification)


_SAID = {"m": words.length, "m/s": words.speed}


def _out_of_range(
    name: str, value: float, low: float, high: float, factor: float, unit: str, entered: str
) -> Finding:
    def said(figure: float) -> str:
        in_units = _SAID.get(unit)
        return in_units(figure, entered) if in_units else f"{figure * factor:.4g} {unit}"

    shown = value * factor if isfinite(value) else None
    limit = low * factor if value < low else high * factor
    given = "no number" if shown is None else said(value)
    label = name.replace("_", " ").capitalize()
    message = f"{label}: {given} was given, accepted are {said(low)} to {said(high)}."
    return Finding("out-of-range", Severity.STOP, name, shown, limit, unit, message, SOURCE)


def _hardware(specification: Specification) -> Iterator[Finding]:
    hardware = specification.hardware
    for name, most in _HARDWARE.items():
        value = getattr(hardware, name)
        if not 0 <= value <= most:
            label = name.replace("_", " ").capitalize()
            yield _stop(
                "out-of-range", "hardware", f"{label}: accepted are 0 to {most * 1000:g} mm.", value, most
            )
    length = hardware.bolt_length
    if length is not None and not 0.02 <= length <= 0.6:
        yield _stop("out-of-range", "hardware", "Bolt length: accepted are 20 to 600 mm.", length, 0.6)


def _decoration(specification: Specification) -> Iterator[Finding]:
    decal, coats = specification.decal, specification.finish.coats
    if decal is not None and not 0.25 <= decal.blade_station <= 0.90:
        message = "A decal sits between 0.25 and 0.90 of the radius."
        yield _stop("out-of-range", "decal", message, decal.blade_station, 0.90)
    if not 0 <= coats <= MOST_COATS:
        yield _stop("out-of-range", "finish", f"Ask for 0 to {MOST_COATS} coats.", coats, MOST_COATS)


def _size_given(specification: Specification) -> Iterator[Finding]:
    if specification.wish not in (Wish.KNOWN, Wish.COPY):
        return
    for name in ("diameter", "pitch"):
        if getattr(specification, name) is None:
            message = f"Give the {name}, or ask us to recommend one."
            yield _stop(f"{name}-missing", name, message)


def _catalogue(specification: Specification) -> Iterator[Finding]:
    rows: dict[str, Timber | HubPattern | Engine | Airframe | EdgeGuard | Glue | Finish | None] = {
        "glue": specification.glue,
        "finish": specification.finish,
        "timber": specification.timber,
        "hub": specification.hub,
        "engine": specification.engine,
        "airframe": specification.airframe,
        "guard": specification.guard,
    }
    for field, row in rows.items():
        if row is None:
            continue
        for part in dataclasses.fields(row):
            figure = getattr(row, part.name)
            if isinstance(figure, Figure) and not (isfinite(figure.value) and 0 < figure.value < 1e12):
                label = part.name.replace("_", " ")
                message = f"{row.name}: the {label} must be a number more than 0."
                yield _stop("not-a-figure", field, message, figure.value, 0.0)
    yield from _bolts(specification)


def _bolts(specification: Specification) -> Iterator[Finding]:
    """A pattern of bolts, or a blank boss that never flies."""
    hub = specification.hub
    if hub.is_blank:
        if specification.use is Use.FLIGHT:
            message = "A blank boss is for display: choose the pattern of your hub."
            yield _stop("no-holes-for-flight", "hub", message, hub.bolts)
        if any((hub.circle, hub.hole, hub.bolt, hub.lug_diameter)):
            message = "A blank boss has no bolt holes, bolt circle or drive lugs."
            yield _stop("holes-in-blank", "hub", message, hub.bolts)
    elif hub.bolts is not None and not 2 <= hub.bolts <= 24:
        yield _stop("out-of-range", "hub", "A bolt pattern has 2 to 24 bolts.", hub.bolts)


def _proportions(specification: Specification) -> list[Finding]:
    found = [*_speeds(specification), *_hub_sizes(specification)]
    diameter, pitch = specification.diameter, specification.pitch
    unit = specification.entered_unit
    if diameter is not None and pitch is not None:
        ratio = pitch / diameter
        low, high = PITCH_PER_DIAMETER
        if not low <= ratio <= high:
            message = (
                f"A pitch of {words.length(pitch, unit)} on a diameter of {words.length(diameter, unit)} is no propeller "
                f"we can compute: accepted are {words.length(low * diameter, unit)} to "
                f"{words.length(high * diameter, unit)}."
            )
            limit = low if ratio < low else high
            found.append(_stop("pitch-per-diameter", "pitch", message, ratio, limit))
    if diameter is not None:
        found += _boss_on(specification, diameter)
    return found


def _boss_on(specification: Specification, diameter: float) -> Iterator[Finding]:
    field = "boss_diameter" if specification.boss_diameter is not None else "hub"
    given = specification.boss_diameter or known(specification.hub.boss_diameter)
    most, unit = BOSS_PER_DIAMETER * diameter, specification.entered_unit
    if given is not None and given > most:
        message = (
            f"A boss of {words.length(given, unit)} is too large for a propeller of {words.length(diameter, unit)}: "
            f"accepted are up to {words.length(most, unit)}."
        )
        yield _stop("boss-too-large", field, message, given, most)


def _hub_sizes(specification: Specification) -> Iterator[Finding]:
    hub = specification.hub
    circle, hole, pilot = (known(figure) for figure in (hub.circle, hub.hole, hub.pilot))
    unit = specification.entered_unit
    boss = specification.boss_diameter or known(hub.boss_diameter)
    if circle is not None and boss is not None and circle + (hole or 0.0) >= boss:
        field = "boss_diameter" if specification.boss_diameter is not None else "hub"
        message = (
            f"The bolt holes on a circle of {words.length(circle, unit)} break out of a boss of "
            f"{words.length(boss, unit)}: "
            "make the boss larger."
        )
        yield _stop("holes-leave-boss", field, message, boss, circle + (hole or 0.0))
    bolt = known(hub.bolt)
    if bolt is not None and hole is not None and bolt > hole + 1e-6:
        message = (
            f"A bolt of {words.length(bolt, unit)} does not go into a hole of {words.length(hole, unit)}."
        )
        yield _stop("bolt-in-hole", "hub", message, bolt, hole)
    if pilot is not None and boss is not None and pilot >= 0.8 * boss:
        message = f"A bore of {words.length(pilot, unit)} leaves too little of a boss of {words.length(boss, unit)}."
        yield _stop("bore-in-boss", "hub", message, pilot, 0.8 * boss)
    if circle is not None and pilot is not None and pilot + (hole or 0.0) >= circle:
        message = (
            f"The bolt holes on a circle of {words.length(circle, unit)} break into the bore of "
            f"{words.length(pilot, unit)}."
        )
        yield _stop("holes-meet-bore", "hub", message, pilot, circle - (hole or 0.0))


def _speeds(specification: Specification) -> Iterator[Finding]:
    frame = specification.airframe
    top = specification.top_speed or (frame.top_speed.value if frame and frame.top_speed else None)
    if top is None:
        return
    slower = {
        "cruise": specification.cruise_speed
        or (frame.cruise_speed.value if frame and frame.cruise_speed else None),
        "stall": frame.stall_speed.value if frame and frame.stall_speed else None,
        "climb": frame.climb_speed.value if frame and frame.climb_speed else None,
    }
    for name, speed in slower.items():
        if speed is not None and speed > top:
            field = "cruise_speed" if name == "cruise" and specification.cruise_speed else "top_speed"
            message = (
                f"The {name} speed of {words.speed(speed, specification.entered_unit)} is above the top speed of "
                f"{words.speed(top, specification.entered_unit)}: "
                "one of them is wrong."
            )
            yield _stop("speeds-contradict", field, message, top, speed)
