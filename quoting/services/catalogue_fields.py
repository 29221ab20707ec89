"""What each kind of catalogue row may hold: fields, quantities, bounds; and the check of one row."""

import dataclasses
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from quoting.propeller import catalogue as pure
from quoting.propeller.figure import Trust
from quoting.services.units import UNITS, to_si


class WrongRow(ValueError):
    """A catalogue row that cannot be used; the text names file, row and field and says what would be accepted."""


@dataclass(frozen=True, slots=True)
class Amount:
    """A physical quantity, stored with trust and source; bounds in SI. None is allowed unless `needed`."""

    quantity: str
    low: float
    high: float
    needed: bool = False


@dataclass(frozen=True, slots=True)
class Whole:
    """A whole number between bounds, or None unless `needed`; 0 too where `or_none`, for there being none."""

    low: int
    high: int
    needed: bool = False
    or_none: bool = False


@dataclass(frozen=True, slots=True)
class Words:
    """Text of at most so many characters."""

    most: int = 600
    pattern: str = ""


@dataclass(frozen=True, slots=True)
class OneOf:
    """A member of an enumeration by its value, or None unless `needed`."""

    kind: type[StrEnum]
    needed: bool = False


@dataclass(frozen=True, slots=True)
class Codes:
    """A list of codes of rows of another kind."""

    kind: str


@dataclass(frozen=True, slots=True)
class Flag:
    """Yes or no."""


@dataclass(frozen=True, slots=True)
class Curve:
    """A list of (fraction of rated speed, fraction of rated power), rising in speed."""


Field = Amount | Whole | Words | OneOf | Codes | Flag | Curve

_STRENGTH = Amount("stress", 1e5, 1e9)
_SHRINKAGE = Amount("fraction", 0.001, 0.3)
_MOVEMENT = Amount("per percent", 0.0001, 0.02)
_SPEED = Amount("speed", 5, 200)
_COLOUR = Words(7, r"#[0-9a-f]{6}")
_HOURS = Amount("hours", 0, 2000, needed=True)

FIELDS: dict[str, dict[str, Field]] = {
    "timber": {
        "density": Amount("density", 100, 1400, needed=True),
        "modulus_of_rupture": _STRENGTH,
        "modulus_of_elasticity": Amount("stress", 1e9, 1e11),
        "compression_parallel": _STRENGTH,
        "compression_perpendicular": _STRENGTH,
        "shear_parallel": _STRENGTH,
        "shrinkage_radial": _SHRINKAGE,
        "shrinkage_tangential": _SHRINKAGE,
        "movement_radial": _MOVEMENT,
        "movement_tangential": _MOVEMENT,
        "workability": Amount("number", 0.2, 5, needed=True),
        "suitable_for_flight": Flag(),
        "remark": Words(),
        "colour": _COLOUR,
        "grain": Words(20),
    },
    "engine": {
        "rated_power": Amount("power", 1e3, 2e6),
        "rated_speed": Amount("rotation", 5, 200),
        "gear_ratio": Amount("number", 0.5, 6),
        "cylinders": Whole(1, 36),
        "strokes": Whole(2, 4),
        "hand_as_tractor": OneOf(pure.Hand),
        "hand_source": Words(300),
        "rotation": OneOf(pure.Rotation),
        "hub_codes": Codes("hub_pattern"),
        "inertia_limit": Amount("inertia", 0.01, 100),
        "unbalance_limit": Amount("unbalance", 1e-6, 1),
        "torque_limit": Amount("torque", 10, 20000),
        "power_curve": Curve(),
        "takeoff_speed": Amount("rotation", 5, 200),
        "remark": Words(),
    },
    "airframe": {
        "category": OneOf(pure.Category, needed=True),
        "position": OneOf(pure.Position, needed=True),
        "gear": OneOf(pure.Gear),
        "usual_engine_codes": Codes("engine"),
        "cruise_speed": _SPEED,
        "top_speed": _SPEED,
        "never_exceed_speed": _SPEED,
        "stall_speed": _SPEED,
        "climb_speed": _SPEED,
        "diameter_min": Amount("length", 0.5, 6),
        "diameter_max": Amount("length", 0.5, 6),
        "static_speed_min": Amount("rotation", 5, 100),
        "static_speed_max": Amount("rotation", 5, 100),
        "usual_diameter_low": Amount("length", 0.5, 6),
        "usual_diameter_high": Amount("length", 0.5, 6),
        "hub_height": Amount("length", 0.3, 6),
        "category_source": Words(300),
        "remark": Words(),
    },
    "hub_pattern": {
        "bolts": Whole(2, 24, or_none=True),
        "circle": Amount("length", 0.03, 0.5),
        "hole": Amount("length", 0.003, 0.05),
        "bolt": Amount("length", 0.003, 0.05),
        "pilot": Amount("length", 0.01, 0.4),
        "pilot_depth": Amount("length", 0.001, 0.3),
        "lug_diameter": Amount("length", 0.005, 0.08),
        "lug_depth": Amount("length", 0.001, 0.1),
        "boss_diameter": Amount("length", 0.05, 0.8),
        "boss_thickness": Amount("length", 0.02, 0.4),
        "plate_diameter": Amount("length", 0.05, 0.8),
        "flange_diameter": Amount("length", 0.05, 0.8),
        "entered_unit": Words(2, "in|mm"),
        "remark": Words(),
    },
    "glue": {
        "clamp_hours": _HOURS,
        "rest_hours": _HOURS,
        "lowest_temperature": Amount("temperature", -10, 60, needed=True),
        "spread": Amount("area density", 0.05, 2, needed=True),
        "suitable_for_flight": Flag(),
        "remark": Words(),
    },
    "finish": {
        "coats": Whole(1, 20, needed=True),
        "recoat_hours": _HOURS,
        "spread": Amount("spread", 1, 50, needed=True),
        "suitable_for_flight": Flag(),
        "colour": _COLOUR,
        "remark": Words(),
    },
    "edge_guard": {
        "length_fraction": Amount("fraction", 0.01, 1, needed=True),
        "mass_per_length": Amount("line density", 0.001, 5, needed=True),
        "remark": Words(),
    },
    "tip_form": {"remark": Words()},
}
"""By kind (the catalogue file's name and its row's table): the fields besides code and name."""

PURE: dict[str, type] = {
    "timber": pure.Timber,
    "engine": pure.Engine,
    "airframe": pure.Airframe,
    "hub_pattern": pure.HubPattern,
    "glue": pure.Glue,
    "finish": pure.Finish,
    "edge_guard": pure.EdgeGuard,
}

for _kind, _pure in PURE.items():
    _named = {f.name for f in dataclasses.fields(_pure)} - {"code", "name", "usual_engine_names"}
    assert _named == set(FIELDS[_kind]), (_kind, _named ^ set(FIELDS[_kind]))


def checked_values(kind: str, given: Mapping[str, Any], where: str) -> dict[str, Any]:
    """The `values` of a row, complete and in SI; raises `WrongRow` naming `where` and the field.

    A figure is given as {"value", "unit", "trust", "source"}, or as it is stored.
    """
    fields = FIELDS[kind]
    for name in given:
        if name not in fields:
            raise WrongRow(f"{where}: there is no field {name!r}; the fields are {', '.join(fields)}")
    values = {}
    for name, field in fields.items():
        try:
            values[name] = _checked(field, given.get(name))
        except ValueError as error:
            raise WrongRow(f"{where}, field {name}: {error}") from error
    _check_together(kind, values, where)
    return values


def _checked(field: Field, given: Any) -> Any:
    match field:
        case Amount():
            return _figure(field, given)
        case Whole(low, high, needed, or_none):
            if given is None and not needed:
                return None
            whole = isinstance(given, int) and not isinstance(given, bool)
            if not whole or not (low <= given <= high or (or_none and given == 0)):
                wanted = (
                    f"0 or a whole number from {low} to {high}"
                    if or_none
                    else f"a whole number from {low} to {high}"
                )
                raise ValueError(f"{wanted} is wanted, not {given!r}")
            return given
        case Words(most, pattern):
            given = "" if given is None else given
            if not isinstance(given, str) or len(given) > most:
                raise ValueError(f"text of at most {most} characters is wanted")
            if pattern and not re.fullmatch(pattern, given):
                raise ValueError(f"text like {pattern} is wanted, not {given!r}")
            return given
        case OneOf(kind, needed):
            if given is None and not needed:
                return None
            if given not in list(kind):
                raise ValueError(f"one of {', '.join(map(repr, map(str, kind)))} is wanted, not {given!r}")
            return str(given)
        case Codes():
            given = [] if given is None else given
            if not isinstance(given, list) or not all(isinstance(code, str) for code in given):
                raise ValueError("a list of codes is wanted")
            return given
        case Flag():
            if not isinstance(given, bool):
                raise ValueError("true or false is wanted")
            return given
        case Curve():
            return list(_curve([] if given is None else given))


def _figure(field: Amount, given: Any) -> dict[str, Any] | None:
    if given is None:
        if field.needed:
            raise ValueError("a figure is needed")
        return None
    if not isinstance(given, Mapping):
        raise ValueError("a figure is written as { value, unit, trust, source }")
    units = UNITS[field.quantity]
    value, unit = given.get("entered") or (given.get("value"), given.get("unit", next(iter(units))))
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise ValueError(f"a number is wanted, not {value!r}")
    if unit not in units:
        raise ValueError(f"the unit must be one of {', '.join(units)}, not {unit!r}")
    if given.get("trust") not in list(Trust):
        raise ValueError(f"trust must be one of {', '.join(Trust)}, not {given.get('trust')!r}")
    source = given.get("source")
    if not isinstance(source, str) or not 3 <= len(source) <= 300:
        raise ValueError("a source in words is needed")
    si = to_si(value, unit, field.quantity)
    if not field.low <= si <= field.high:
        shown = next(iter(units))
        raise ValueError(f"{value:g} {unit} is outside {field.low:g} to {field.high:g} {shown}")
    return {"value": si, "trust": given["trust"], "source": source, "entered": [value, unit]}


def _curve(given: Any) -> Iterator[list[float]]:
    if not isinstance(given, list):
        raise ValueError("a list of [fraction of rated speed, fraction of rated power] is wanted")
    last = 0.0
    for point in given:
        if not (
            isinstance(point, list) and len(point) == 2 and all(isinstance(x, (int, float)) for x in point)
        ):
            raise ValueError("each point of the curve is a pair of numbers")
        speed, power = point
        if not (last < speed <= 1.3 and 0 < power <= 1.3):
            raise ValueError("speeds rise from above 0 to at most 1.3, powers lie between 0 and 1.3")
        last = speed
        yield [float(speed), float(power)]


def _check_together(kind: str, values: Mapping[str, Any], where: str) -> None:
    """Figures of one row that contradict each other."""
    for low, high in (
        ("stall_speed", "cruise_speed"),
        ("cruise_speed", "top_speed"),
        ("diameter_min", "diameter_max"),
        ("usual_diameter_low", "usual_diameter_high"),
        ("rated_speed", "takeoff_speed"),
        ("static_speed_min", "static_speed_max"),
        ("hole", "circle"),
        ("pilot", "circle"),
        ("circle", "boss_diameter"),
        ("movement_radial", "movement_tangential"),
    ):
        lower, higher = values.get(low), values.get(high)
        if lower and higher and lower["value"] > higher["value"]:
            raise WrongRow(f"{where}: {low} is above {high}")
    if kind == "hub_pattern" and values["bolts"] == 0:
        drilled = [name for name in ("circle", "hole", "bolt", "lug_diameter", "lug_depth") if values[name]]
        if drilled:
            raise WrongRow(f"{where}: a pattern of 0 bolts has no {drilled[0]}")
    if kind == "engine" and values["hand_as_tractor"] and values["rotation"]:
        expected = (
            pure.Rotation.ANTICLOCKWISE
            if values["hand_as_tractor"] == pure.Hand.RIGHT
            else pure.Rotation.CLOCKWISE
        )
        if values["rotation"] != expected:
            raise WrongRow(f"{where}: a {values['hand_as_tractor']}-hand tractor engine turns {expected}")
