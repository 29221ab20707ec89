"""Comparisons with certified combinations: static rpm against the permitted range, recommended against
certified diameter and pitch."""

from collections.abc import Iterator

import numpy as np

from quoting.propeller.blade import Blade
from quoting.propeller.catalogue import Position
from quoting.propeller.matching import Powerplant, Speeds, performance
from quoting.propeller.powerplant import WAKE
from quoting.propeller.recommend import (
    BLADE_DIAMETER,
    DIAMETER_CONSTANT,
    TOP_SPEED_RATIO,
    Character,
    recommend,
    rule_diameter,
)
from quoting.propeller.sizing import SizingChart
from tests.validation.row import Basis, Kind, Row, table

INCH, MPH, HORSEPOWER = 0.0254, 0.44704, 745.69987
_METAL = (
    (0.15, 0.25, 0.30, 0.40, 0.50, 0.60, 0.70, 0.75, 0.80, 0.90, 1.0),
    (0.40, 0.24, 0.19, 0.135, 0.108, 0.094, 0.085, 0.082, 0.079, 0.074, 0.070),
)
_WIDENED = 0.03
_WANTED_INSIDE = {"document": 0.75, "document, wood": 0.75, "document, metal": 0.75, "memory or owners": 0.5}
_GREATEST = {"15": 79.0}
"""Greatest diameter in inches of the row that gives no size."""
_PITCH = 5.0
_OVER_REVVED = "C-75"
"""An engine whose propellers are chosen to turn well past its rating in level flight; its pitches say nothing of ours."""


def sized() -> list[dict[str, str]]:
    """The combinations with a known diameter and pitch."""
    return [case for case in table("certified.csv") if case["diameter_in"]]


def powerplant(case: dict[str, str]) -> Powerplant:
    return Powerplant(float(case["horsepower"]) * HORSEPOWER, float(case["rated_rpm"]) / 60)


def speeds(case: dict[str, str]) -> Speeds:
    return Speeds(top=float(case["top_mph"]) * MPH)


def propeller(case: dict[str, str]) -> Blade:
    """The generic blade in the case's size; a metal one has the same plan and thinner sections (from memory)."""
    wooden = Blade.wooden(diameter=float(case["diameter_in"]) * INCH, pitch=float(case["pitch_in"]) * INCH)
    if case["blade"] == "wood":
        return wooden
    return Blade.from_table(
        diameter=wooden.diameter,
        blades=2,
        r_R=wooden.r_R,
        c_R=wooden.c_R,
        t_c=np.interp(wooden.r_R, *_METAL),
        beta_deg=np.degrees(wooden.beta),
    )


def static_rpm(case: dict[str, str]) -> float:
    return performance(propeller(case), powerplant(case), speeds(case)).static.rpm


def constant_without(left_out: dict[str, str]) -> float:
    """K of the diameter rule fitted to all the other combinations: the geometric mean of theirs."""
    others = [case for case in sized() if case["row"] != left_out["row"]]
    return float(np.exp(np.mean([np.log(_constant(case)) for case in others])))


def _constant(case: dict[str, str]) -> float:
    plant, top = powerplant(case), float(case["top_mph"]) * MPH
    rule = rule_diameter(plant.power, plant.speed, top) / BLADE_DIAMETER[2]
    return DIAMETER_CONSTANT * float(case["diameter_in"]) * INCH / rule


def recommended_diameter(case: dict[str, str]) -> float:
    """In inches, free of any limit, with this combination left out of the rule's constant."""
    first = recommend(powerplant(case), speeds(case), diameter_constant=constant_without(case))[0]
    return first.diameter / INCH


def recommended_pitch(case: dict[str, str]) -> float:
    """In inches, of the standard propeller of the certified diameter on this combination."""
    blade, plant = propeller(case), powerplant(case)
    speed = TOP_SPEED_RATIO[Character.STANDARD] * plant.speed
    chart = SizingChart(blade, plant.speed, wake=WAKE[Position.TRACTOR])
    top = np.asarray(float(case["top_mph"]) * MPH)
    pitch = chart.pitch_for(plant.available(speed), np.asarray(blade.diameter), top, np.asarray(speed))
    return float(pitch) / INCH


def rows() -> Iterator[Row]:
    yield from _static()
    yield from _diameters()
    yield from _pitches()


def _name(case: dict[str, str]) -> str:
    return f"{case['aircraft']} {case['engine']} {case['blade']}"


def _groups(case: dict[str, str]) -> tuple[str, ...]:
    if case["limits_from"] == "document":
        return "document", f"document, {case['blade']}"
    return ("memory or owners",)


def _static() -> Iterator[Row]:
    inside: dict[str, list[bool]] = {group: [] for group in _WANTED_INSIDE}
    for case in sized():
        if not case["static_low"]:
            continue
        low, high, ours = float(case["static_low"]), float(case["static_high"]), static_rpm(case)
        for group in _groups(case):
            inside[group].append(low <= ours <= high)
        yield Row(
            f"static rpm, {_name(case)}, {case['diameter_in']} x {case['pitch_in']}",
            ours,
            0.5 * (low + high),
            (1 - _WIDENED) * low,
            (1 + _WIDENED) * high,
            f"type certificate data, {case['certificate']}",
            Basis.FITTED,
            Kind.MEASURED,
            f"limits from {case['limits_from']}; size: {case['size_from']}",
        )
    for group, found in inside.items():
        yield Row(
            f"share inside the unwidened range, {len(found)} limits from {group}",
            float(np.mean(found)),
            1.0,
            _WANTED_INSIDE[group],
            1.0,
            "type certificate data",
            Basis.FITTED,
            Kind.MEASURED,
        )


def _diameters() -> Iterator[Row]:
    near = 0
    for case in sized():
        ours, certified = recommended_diameter(case), float(case["diameter_in"])
        near += bool(case["static_low"]) and abs(ours / certified - 1) <= 0.06
        yield Row(
            f"recommended diameter in, {_name(case)}, {case['pitch_in']} in pitch, this one left out",
            ours,
            certified,
            0.92 * certified,
            1.08 * certified,
            f"type certificate data, {case['certificate']}",
            Basis.INDEPENDENT,
            Kind.MEASURED,
            f"size: {case['size_from']}",
        )
    yield Row(
        "combinations with a certified static range whose diameter is recommended within 6 %, of 14",
        near,
        14,
        12,
        14,
        "type certificate data",
        Basis.INDEPENDENT,
        Kind.MEASURED,
    )
    for case in table("certified.csv"):
        if case["row"] in _GREATEST:
            most = _GREATEST[case["row"]]
            yield Row(
                f"recommended diameter in, {_name(case)}, against the greatest allowed",
                recommend(powerplant(case), speeds(case))[0].diameter / INCH,
                most,
                0.75 * most,
                most,
                f"type certificate data, {case['certificate']}",
                Basis.INDEPENDENT,
                Kind.MEASURED,
                case["size_from"],
            )


def _pitches() -> Iterator[Row]:
    """Rated rpm is passed by the same share flat out in level flight, whatever the combination: fitted to these."""
    errors = []
    for case in sized():
        if case["engine"] == _OVER_REVVED:
            continue
        ours, certified = recommended_pitch(case), float(case["pitch_in"])
        errors.append(ours - certified)
        yield Row(
            f"pitch in at the certified diameter, {_name(case)}, {case['diameter_in']} x {case['pitch_in']}",
            ours,
            certified,
            certified - _PITCH,
            certified + _PITCH,
            f"type certificate data, {case['certificate']}",
            Basis.FITTED,
            Kind.MEASURED,
            f"size: {case['size_from']}",
        )
    for quantity, value, limit in (
        ("mean difference of pitch in", float(np.mean(errors)), 1.5),
        ("scatter of pitch in (standard deviation)", float(np.std(errors)), 2.5),
    ):
        yield Row(
            f"{quantity}, {len(errors)} combinations",
            value,
            0.0,
            -limit,
            limit,
            "type certificate data",
            Basis.FITTED,
            Kind.MEASURED,
        )
