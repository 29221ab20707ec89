"""Ready-made catalogue values and specifications for the pure tests, such as `specification(blades=3)`."""

from dataclasses import replace
from typing import Any

from quoting.propeller.catalogue import (
    Airframe,
    Category,
    EdgeGuard,
    Engine,
    Finish,
    Gear,
    Glue,
    Hand,
    HubPattern,
    Position,
    Rotation,
    Timber,
)
from quoting.propeller.figure import Figure, Trust
from quoting.propeller.specification import Specification, Use, Wish

INCH = 0.0254
HORSEPOWER = 745.69987
MPH = 0.44704

HANDBOOK = "Wood Handbook, FPL-GTR-190 (2010), Table 5-3a"
MOVEMENT = "Wood Handbook, FPL-GTR-190 (2010), Table 13-5"
SHRINKAGE = "Wood Handbook, FPL-GTR-190 (2010), Table 4-3"


def published(value: float, source: str) -> Figure:
    return Figure(value, Trust.PUBLISHED, source)


def remembered(value: float, source: str = "memory") -> Figure:
    return Figure(value, Trust.MEMORY, source)


def usual(value: float) -> Figure:
    return Figure(value, Trust.COMMON_PRACTICE, "common practice, no source")


def birch(**changes: Any) -> Timber:
    timber = Timber(
        code="yellow-birch",
        name="Yellow birch",
        density=Figure(694.4, Trust.COMPUTED, "specific gravity 0.62 at 12 %, " + HANDBOOK),
        modulus_of_rupture=published(114e6, HANDBOOK),
        modulus_of_elasticity=published(13.9e9, HANDBOOK),
        compression_parallel=published(56.3e6, HANDBOOK),
        compression_perpendicular=published(6.7e6, HANDBOOK),
        shear_parallel=published(13.0e6, HANDBOOK),
        shrinkage_radial=published(0.073, SHRINKAGE),
        shrinkage_tangential=published(0.095, SHRINKAGE),
        movement_radial=published(0.00256, MOVEMENT),
        movement_tangential=published(0.00338, MOVEMENT),
        workability=usual(1.0),
        suitable_for_flight=True,
        remark="",
        colour="#e2c79a",
        grain="fine",
    )
    return replace(timber, **changes)


def mahogany(**changes: Any) -> Timber:
    source = "Wood Handbook, FPL-GTR-113 (1999), Table 4-5b"
    timber = Timber(
        code="true-mahogany",
        name="True mahogany",
        density=Figure(529.0, Trust.COMPUTED, "basic specific gravity 0.45, " + source),
        modulus_of_rupture=published(79.3e6, source),
        modulus_of_elasticity=published(10.3e9, source),
        compression_parallel=published(46.7e6, source),
        compression_perpendicular=None,
        shear_parallel=published(8.5e6, source),
        shrinkage_radial=published(0.030, "Wood Handbook, FPL-GTR-190 (2010), Table 4-4"),
        shrinkage_tangential=published(0.041, "Wood Handbook, FPL-GTR-190 (2010), Table 4-4"),
        movement_radial=None,
        movement_tangential=None,
        workability=usual(0.8),
        suitable_for_flight=True,
        remark="No compression across the grain is published.",
        colour="#9c5a3c",
        grain="ribbon",
    )
    return replace(timber, **changes)


def poplar(**changes: Any) -> Timber:
    values: dict[str, Any] = {
        "code": "yellow-poplar",
        "name": "Yellow-poplar",
        "density": Figure(470.4, Trust.COMPUTED, "specific gravity 0.42 at 12 %, " + HANDBOOK),
        "modulus_of_rupture": published(70e6, HANDBOOK),
        "modulus_of_elasticity": published(10.9e9, HANDBOOK),
        "compression_parallel": published(38.2e6, HANDBOOK),
        "compression_perpendicular": published(3.4e6, HANDBOOK),
        "shear_parallel": published(8.2e6, HANDBOOK),
        "suitable_for_flight": False,
        "remark": "Light and soft: for display pieces.",
    }
    return replace(birch(), **values | changes)


def engine_65(**changes: Any) -> Engine:
    """A direct-drive flat four: 65 hp at 2300 rev/min."""
    detail = "Continental detail specification 1009a (1946)"
    engine = Engine(
        code="continental-a65-8f",
        name="Continental A-65-8F",
        rated_power=published(65 * HORSEPOWER, detail),
        rated_speed=published(2300 / 60, detail),
        gear_ratio=published(1.0, detail),
        cylinders=4,
        strokes=4,
        hand_as_tractor=Hand.RIGHT,
        hand_source="memory",
        rotation=Rotation.ANTICLOCKWISE,
        hub_codes=("sae-1",),
        inertia_limit=None,
        unbalance_limit=None,
        torque_limit=None,
        power_curve=(),
        remark="",
    )
    return replace(engine, **changes)


def engine_geared(**changes: Any) -> Engine:
    """A geared flat four: 80 hp at 5800 rev/min, 2.4286 to one, with the maker's published limits."""
    manual = "912 series installation manual (2009)"
    values: dict[str, Any] = {
        "code": "rotax-912-ul",
        "name": "Rotax 912 UL",
        "rated_power": remembered(80 * HORSEPOWER, "EASA TCDS E.121, from memory"),
        "rated_speed": remembered(5800 / 60, "EASA TCDS E.121, from memory"),
        "gear_ratio": published(51 / 21, manual),
        "hand_source": manual,
        "hub_codes": ("metric-75", "metric-80", "metric-101"),
        "inertia_limit": published(0.60, manual),
        "unbalance_limit": published(0.0005, manual),
        "torque_limit": published(255.0, manual),
    }
    return replace(engine_65(), **values | changes)


def airframe(**changes: Any) -> Airframe:
    """A light tail-wheel tractor of the sort a 65 hp flat four pulls."""
    frame = Airframe(
        code="piper-j-3c-65",
        name="Piper J-3C-65",
        category=Category.TYPE_CERTIFICATED,
        position=Position.TRACTOR,
        gear=Gear.TAIL_WHEEL,
        usual_engine_codes=("continental-a65-8f",),
        cruise_speed=published(75 * MPH, "Plane and Pilot directory, 2009"),
        top_speed=published(87 * MPH, "Plane and Pilot directory, 2009"),
        never_exceed_speed=None,
        stall_speed=remembered(38 * MPH),
        climb_speed=remembered(55 * MPH),
        diameter_min=None,
        diameter_max=None,
        static_speed_min=None,
        static_speed_max=None,
        hub_height=None,
        remark="",
    )
    return replace(frame, **changes)


def sae1(**changes: Any) -> HubPattern:
    sheet = "FAA type certificate data sheet P-842 rev. 16"
    memory = "SAE AS127, from memory"
    hub = HubPattern(
        code="sae-1",
        name="SAE 1",
        bolts=6,
        circle=published(4.375 * INCH, sheet),
        hole=published(25 / 64 * INCH, sheet),
        bolt=published(0.375 * INCH, sheet),
        pilot=remembered(2.25 * INCH, memory),
        pilot_depth=None,
        lug_diameter=remembered(0.625 * INCH, memory),
        lug_depth=usual(0.3 * INCH),
        boss_diameter=usual(6.0 * INCH),
        boss_thickness=usual(4.0 * INCH),
        plate_diameter=usual(6.0 * INCH),
        entered_unit="in",
        remark="",
        flange_diameter=usual(5.25 * INCH),
    )
    return replace(hub, **changes)


def blank_boss(**changes: Any) -> HubPattern:
    """A boss of a display piece: no bolt holes."""
    nothing: dict[str, Any] = dict.fromkeys(
        "circle hole bolt pilot lug_diameter lug_depth boss_diameter boss_thickness plate_diameter"
        " flange_diameter".split()
    )
    return sae1(**{"code": "blank-boss", "name": "Blank boss", "bolts": 0, **nothing, **changes})


def sae2(**changes: Any) -> HubPattern:
    memory = "SAE AS127, from memory"
    values: dict[str, Any] = {
        "code": "sae-2",
        "name": "SAE 2",
        "circle": remembered(4.75 * INCH, memory),
        "hole": remembered(25 / 64 * INCH, memory),
        "bolt": remembered(0.375 * INCH, memory),
        "lug_diameter": remembered(0.75 * INCH, memory),
        "boss_diameter": usual(6.5 * INCH),
        "boss_thickness": usual(4.25 * INCH),
        "plate_diameter": usual(6.5 * INCH),
        "flange_diameter": usual(5.75 * INCH),
    }
    return replace(sae1(), **values | changes)


def metric_80(**changes: Any) -> HubPattern:
    manual = "912 series installation manual (2009)"
    values: dict[str, Any] = {
        "code": "metric-80",
        "name": "6 on 80 mm",
        "circle": published(0.080, manual),
        "hole": published(0.0115, manual),
        "bolt": usual(0.008),
        "pilot": published(0.047, manual),
        "lug_diameter": None,
        "lug_depth": None,
        "boss_diameter": usual(0.130),
        "boss_thickness": usual(0.080),
        "plate_diameter": usual(0.130),
        "flange_diameter": None,
        "entered_unit": "mm",
    }
    return replace(sae1(), **values | changes)


def resorcinol() -> Glue:
    return Glue("resorcinol", "Resorcinol", usual(14.0), usual(24.0), usual(21.0), usual(0.35), "")


def varnish() -> Finish:
    return Finish("spar-varnish", "Spar varnish", 3, usual(16.0), usual(12.0), "#b5651d", "")


def brass_guard() -> EdgeGuard:
    return EdgeGuard("brass", "Brass, soldered rivets", usual(0.35), usual(0.35), "")


def specification(**changes: Any) -> Specification:
    """A sound 72 x 44 in yellow birch tractor propeller for 65 hp; name what shall differ."""
    base = Specification(
        use=Use.FLIGHT,
        category=Category.AMATEUR_BUILT,
        position=Position.TRACTOR,
        hand=Hand.RIGHT,
        blades=2,
        wish=Wish.KNOWN,
        diameter=72 * INCH,
        pitch=44 * INCH,
        engine=engine_65(),
        airframe=airframe(),
        hub=sae1(),
        timber=birch(),
        glue=resorcinol(),
        finish=varnish(),
        hub_height=46 * INCH,
    )
    return replace(base, **changes)
