"""Comparisons with wood and balance handbooks, and worked arithmetic of the bolted hub."""

import tomllib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np

from quoting.propeller.balance import permissible, rotating_force
from quoting.propeller.catalogue import Gear
from quoting.propeller.clearance import clearance_diameter
from quoting.propeller.hub import boss
from quoting.propeller.joint import bolt_force, joint, propeller_torque
from quoting.propeller.strength import centrifugal_pull
from quoting.propeller.timber import Ring, density, density_from_basic_gravity, equilibrium_moisture, movement
from tests.quoting.samples import HORSEPOWER, INCH, birch, engine_65, published, sae1, specification
from tests.validation.row import Basis, Kind, Row, within

TIMBERS = Path(__file__).parents[2] / "fixtures" / "catalogue" / "timber.toml"
WOOD = "Wood Handbook, FPL-GTR-190 (2010)"
WORKED = "worked by hand from the definition"
PSI, POUND, POUND_INCH = 6894.757, 4.4482216152605, 0.1129848

# Wood Handbook Table 4-2, degrees F: relative humidity, moisture in percent
_MOISTURE = {
    30: {0.20: 4.6, 0.50: 9.5, 0.65: 12.4, 0.80: 16.5},
    50: {0.20: 4.6, 0.50: 9.5, 0.65: 12.3, 0.80: 16.4},
    70: {
        0.20: 4.5,
        0.30: 6.2,
        0.40: 7.7,
        0.50: 9.2,
        0.60: 11.0,
        0.65: 12.0,
        0.70: 13.1,
        0.80: 16.0,
        0.90: 20.5,
    },
    90: {0.20: 4.3, 0.50: 8.9, 0.65: 11.5, 0.80: 15.4},
    110: {0.20: 4.1, 0.50: 8.5, 0.65: 11.0, 0.80: 14.7},
}
# Wood Handbook Table 5-3b, inch-pound, as reprinted: psi
_STRENGTHS = {
    "white-ash": {
        "modulus_of_rupture": 15_000,
        "compression_parallel": 7_410,
        "compression_perpendicular": 1_160,
    },
    "yellow-birch": {
        "modulus_of_rupture": 16_600,
        "compression_parallel": 8_170,
        "compression_perpendicular": 970,
    },
    "sugar-maple": {"modulus_of_rupture": 15_800, "compression_parallel": 7_830, "shear_parallel": 2_330},
    "black-walnut": {"modulus_of_rupture": 14_600, "compression_parallel": 7_580},
    "black-cherry": {
        "modulus_of_rupture": 12_300,
        "compression_parallel": 7_110,
        "compression_perpendicular": 690,
    },
    "white-oak": {"modulus_of_rupture": 15_200, "compression_parallel": 7_440},
}
# 6 in wide boards from 12 to 8 %: radial and tangential coefficient, change in inches
_MOVEMENT = {
    "sugar maple": (0.00165, 0.00353, -0.0396, -0.0847),
    "yellow birch": (0.00256, 0.00338, -0.0614, -0.0811),
    "black cherry": (0.00126, 0.00248, -0.0302, -0.0595),
    "black walnut": (0.00190, 0.00274, -0.0456, -0.0658),
    "white oak": (0.00180, 0.00365, -0.0432, -0.0876),
}
# kg, rpm, grade: permissible unbalance in g mm
_BALANCE = {
    (5.0, 2750, 6.3): 109.38,
    (4.0, 2300, 6.3): 104.63,
    (3.2, 2387, 16.0): 204.83,
    (12.0, 1250, 16.0): 1466.8,
}
# horsepower, rpm: mean torque in N m
_TORQUE = {(65, 2300): 201.2, (85, 2575): 235.1, (100, 2750): 258.9, (150, 2700): 395.6, (180, 2700): 474.7}
# kg, m, rpm: pull in kN
_PULL = {(1.5, 0.40, 2500): 41.1, (2.0, 0.45, 2300): 52.2}


def rows() -> Iterator[Row]:
    yield from _moisture()
    yield from _strengths()
    yield from _densities()
    yield from _movements()
    yield from _balance()
    yield from _joint()
    yield from _pull_and_clearance()


def _worked(quantity: str, ours: float, by_hand: float, share: float) -> Row:
    return Row(quantity, ours, by_hand, *within(share, by_hand), WORKED, Basis.INDEPENDENT, Kind.ARITHMETIC)


def _moisture() -> Iterator[Row]:
    """The printed table has one decimal; it is computed from the formula we use, whose coefficients we type ourselves."""
    for fahrenheit, by_humidity in _MOISTURE.items():
        for humidity, printed in by_humidity.items():
            ours = equilibrium_moisture((fahrenheit - 32) / 1.8, humidity)
            yield Row(
                f"moisture % at {fahrenheit} F, {humidity:.0%} humidity",
                ours,
                printed,
                printed - 0.1,
                printed + 0.1,
                f"{WOOD}, Table 4-2",
                Basis.INDEPENDENT,
                Kind.HANDBOOK,
                "70 F row from memory, the others recomputed from equation 4-5 with its Fahrenheit coefficients",
            )


def _strengths() -> Iterator[Row]:
    """The catalogue's metric figures against the inch-pound table of the same book: both are rounded, hence 1 %."""
    timbers = {row["code"]: row for row in tomllib.loads(TIMBERS.read_text("utf-8"))["row"]}
    for code, figures in _STRENGTHS.items():
        for name, psi in figures.items():
            given = timbers[code][name]
            assert given["unit"] == "kPa"
            yield Row(
                f"{name.replace('_', ' ')} MPa of {code}",
                given["value"] / 1000,
                psi * PSI / 1e6,
                *within(0.01, psi * PSI / 1e6),
                f"{WOOD}, Table 5-3b as reprinted",
                Basis.INDEPENDENT,
                Kind.HANDBOOK,
            )


def _densities() -> Iterator[Row]:
    light = birch(density=published(1000 * 0.40 * 1.12, ""))
    yield Row(
        "density kg/m3 at 12 % of specific gravity 0.40",
        density(light, 12.0),
        448.0,
        447.5,
        448.5,
        f"{WOOD}, chapter 4, density table",
        Basis.INDEPENDENT,
        Kind.HANDBOOK,
    )
    for name, basic, shrinkage, by_hand in (
        ("true mahogany", 0.45, 0.078, 529),
        ("African mahogany", 0.42, 0.088, 497),
    ):
        ours = density_from_basic_gravity(basic, shrinkage, 12.0)
        yield _worked(f"density kg/m3 of {name} from its green volume", ours, by_hand, 1e-3)


def _movements() -> Iterator[Row]:
    for name, (radial, tangential, quarter, flat) in _MOVEMENT.items():
        wood = birch(movement_radial=published(radial, ""), movement_tangential=published(tangential, ""))
        for ring, by_hand in ((Ring.RADIAL, quarter), (Ring.TANGENTIAL, flat)):
            ours = 6 * (movement(wood, ring, 12, 8) or 0.0)
            yield _worked(f"movement in of 6 in {name}, {ring.value}, 12 to 8 %", ours, by_hand, 2e-3)


def _balance() -> Iterator[Row]:
    for (kilograms, rpm, grade), by_hand in _BALANCE.items():
        ours = permissible(kilograms, rpm / 60, grade=grade).by_grade * 1e6
        yield _worked(
            f"permissible unbalance g mm, {kilograms:g} kg at {rpm} rpm, G {grade:g}", ours, by_hand, 1e-3
        )
    yield _worked("force N of 500 g mm at 2400 rpm", rotating_force(500e-6, 40.0), 31.6, 2e-3)


def _joint() -> Iterator[Row]:
    for (horsepower, rpm), by_hand in _TORQUE.items():
        power, speed = published(horsepower * HORSEPOWER, ""), published(rpm / 60, "")
        ours = propeller_torque(engine_65(rated_power=power, rated_speed=speed)) or 0.0
        yield _worked(f"mean torque N m, {horsepower} hp at {rpm} rpm", ours, by_hand, 5e-4)
    yield _worked(
        "bolt pull lbf, 200 lbf in on 3/8 in", bolt_force(200 * POUND_INCH, 0.375 * INCH) / POUND, 2667, 1e-3
    )
    shape = boss(specification(hub=sae1(lug_diameter=None, plate_diameter=published(5.25 * INCH, ""))))
    pressed = joint(shape, birch(), engine_65(), torque=200 * POUND_INCH)
    yield _worked("clamp lbf of six", (pressed.clamp or 0) / POUND, 16_000, 1e-3)
    yield _worked("pressure psi under a 5-1/4 in plate", (pressed.pressure or 0) / PSI, 944, 2e-3)
    yield _worked(
        "friction torque lbf in of that plate", (pressed.friction_torque or 0) / POUND_INCH, 9_480, 2e-3
    )
    metric = joint(replace(shape, bore=0.057), birch(), engine_65(), torque=27.1)
    yield _worked("clamp kN of six 3/8 in at 27.1 N m", (metric.clamp or 0) / 1e3, 85.4, 2e-3)
    yield _worked("friction torque N m with a 57 mm bore", metric.friction_torque or 0, 1285, 5e-3)
    yield _worked("edge wood in, SAE 1 on 5-1/4 in", edge(5.25), 0.242, 2e-3)
    yield _worked("web in between bore and holes, SAE 1", (shape.bore_web or 0) / INCH, 0.867, 1e-3)


def edge(inches: float) -> float:
    """Edge wood in inches of the plain pattern on a boss of so many inches."""
    plain = boss(specification(hub=sae1(lug_diameter=None), boss_diameter=inches * INCH))
    return (plain.edge_wood or 0) / INCH


def _pull_and_clearance() -> Iterator[Row]:
    for (kilograms, radius, rpm), by_hand in _PULL.items():
        r = radius + 1e-4 * (2 * _fractions() - 1)
        area = 0 * r + kilograms / (700 * 2e-4)
        ours = float(centrifugal_pull(area, r, 700, rpm / 60)[0]) / 1e3
        yield _worked(f"pull kN of {kilograms:g} kg at {radius:g} m, {rpm} rpm", ours, by_hand, 2e-3)
    for gear, by_hand in ((Gear.TAIL_WHEEL, 74.0), (Gear.NOSE_WHEEL, 78.0)):
        ours = clearance_diameter(46 * INCH, gear) / INCH
        yield _worked(f"largest diameter in, shaft 46 in high, {gear.value}", ours, by_hand, 1e-6)


def _fractions() -> np.ndarray:
    return np.linspace(0, 1, 11)
