"""Comparisons with certified combinations: static rpm against the permitted range, recommended against fitted diameter."""

from collections.abc import Iterator

import numpy as np

from quoting.propeller.blade import Blade
from quoting.propeller.matching import Powerplant, Speeds, performance
from quoting.propeller.recommend import BLADE_DIAMETER, DIAMETER_CONSTANT, recommend, rule_diameter
from tests.validation.row import Basis, Kind, Row, table

INCH, MPH, HORSEPOWER = 0.0254, 0.44704, 745.69987
_METAL = (
    (0.15, 0.25, 0.30, 0.40, 0.50, 0.60, 0.70, 0.75, 0.80, 0.90, 1.0),
    (0.40, 0.24, 0.19, 0.135, 0.108, 0.094, 0.085, 0.082, 0.079, 0.074, 0.070),
)
_WIDENED = 0.03
_WANTED_INSIDE = 0.75


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
    others = [case for case in table("certified.csv") if case["row"] != left_out["row"]]
    return float(np.exp(np.mean([np.log(_constant(case)) for case in others])))


def _constant(case: dict[str, str]) -> float:
    plant, top = powerplant(case), float(case["top_mph"]) * MPH
    rule = rule_diameter(plant.power, plant.speed, top) / BLADE_DIAMETER[2]
    return DIAMETER_CONSTANT * float(case["diameter_in"]) * INCH / rule


def recommended_diameter(case: dict[str, str]) -> float:
    """In inches, free of any limit, with this combination left out of the rule's constant."""
    first = recommend(powerplant(case), speeds(case), diameter_constant=constant_without(case))[0]
    return first.diameter / INCH


def rows() -> Iterator[Row]:
    cases = table("certified.csv")
    inside = []
    for case in cases:
        low, high, ours = float(case["static_low"]), float(case["static_high"]), static_rpm(case)
        read = case["limits_from"] == "document"
        if read:
            inside.append(low <= ours <= high)
        yield Row(
            f"static rpm, {case['aircraft']} {case['engine']}, {case['diameter_in']} x {case['pitch_in']} {case['blade']}",
            ours,
            0.5 * (low + high),
            (1 - _WIDENED) * low,
            (1 + _WIDENED) * high,
            f"type certificate data, {case['certificate']}",
            Basis.FITTED,
            Kind.MEASURED,
            f"limits from {case['limits_from']}; size: {case['size_from']}",
        )
    yield Row(
        f"share inside the unwidened range, {len(inside)} limits read in a document",
        float(np.mean(inside)),
        1.0,
        _WANTED_INSIDE,
        1.0,
        "type certificate data",
        Basis.FITTED,
        Kind.MEASURED,
    )
    yield from _diameters(cases)


def _diameters(cases: list[dict[str, str]]) -> Iterator[Row]:
    near = 0
    for case in cases:
        ours, certified = recommended_diameter(case), float(case["diameter_in"])
        near += abs(ours / certified - 1) <= 0.06
        yield Row(
            f"recommended diameter in, {case['aircraft']} {case['engine']} {case['blade']}, this one left out",
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
        "combinations whose diameter is recommended within 6 %, of 14",
        near,
        14,
        12,
        14,
        "type certificate data",
        Basis.INDEPENDENT,
        Kind.MEASURED,
    )
