"""Catalogue values as the computation sees them: timbers, engines, airframes, hub patterns and what is chosen with them.

Every physical quantity is a `Figure` in SI units, or None where no source gives it: a missing
figure is "not checked", never a pass.
"""

from dataclasses import dataclass
from enum import StrEnum

from quoting.propeller.figure import Figure, Trust


class Hand(StrEnum):
    """Right-hand turns clockwise for someone standing in its slipstream and looking the way it flies."""

    RIGHT = "right"
    LEFT = "left"


class Position(StrEnum):
    """Where the propeller sits: pulling (tractor) or pushing (pusher)."""

    TRACTOR = "tractor"
    PUSHER = "pusher"


class Rotation(StrEnum):
    """The crankshaft flange's rotation as seen by someone facing the flange."""

    CLOCKWISE = "clockwise facing the flange"
    ANTICLOCKWISE = "anticlockwise facing the flange"


class Gear(StrEnum):
    """Undercarriage, for ground clearance."""

    NOSE_WHEEL = "nose wheel"
    TAIL_WHEEL = "tail wheel"
    FLOATS = "floats"


class Category(StrEnum):
    """Registration category of the airframe: decides which caution the customer must read."""

    AMATEUR_BUILT = "amateur-built"
    MICROLIGHT = "microlight or ultralight"
    VINTAGE_PERMIT = "vintage on a permit or limited certificate"
    REPLICA = "replica"
    TYPE_CERTIFICATED = "type-certificated"
    NOT_REGISTERED = "not registered (display, wind machine)"
    UNKNOWN = "I do not know"


@dataclass(frozen=True, slots=True)
class Timber:
    """A timber at 12 % moisture: strengths in Pa, density in kg/m3, movement per percent moisture.

    `movement_radial` and `movement_tangential` are Wood Handbook dimensional-change coefficients
    C (per percent moisture); `shrinkage_*` are green to oven-dry fractions. `workability` is 1 for yellow
    birch, less for woods that carve faster. `colour` and `grain` draw its swatch.
    """

    code: str
    name: str
    density: Figure
    modulus_of_rupture: Figure | None
    modulus_of_elasticity: Figure | None
    compression_parallel: Figure | None
    compression_perpendicular: Figure | None
    shear_parallel: Figure | None
    shrinkage_radial: Figure | None
    shrinkage_tangential: Figure | None
    movement_radial: Figure | None
    movement_tangential: Figure | None
    workability: Figure
    suitable_for_flight: bool
    remark: str
    colour: str
    grain: str


@dataclass(frozen=True, slots=True)
class Engine:
    """An engine: powers in W, speeds in rev/s of the crankshaft, gear ratio engine/propeller.

    `rotation` is as seen facing the flange; None when unknown. `hand_as_tractor` follows from it
    but is kept apart because sources state one or the other. `power_curve` holds
    (fraction of rated speed, fraction of rated power) points; empty means the default law. `takeoff_speed` is the
    greatest speed allowed for take-off and climb where it is above the rated one, which may then be held on and on.
    """

    code: str
    name: str
    rated_power: Figure | None
    rated_speed: Figure | None
    gear_ratio: Figure | None
    cylinders: int | None
    strokes: int | None
    hand_as_tractor: Hand | None
    hand_source: str
    rotation: Rotation | None
    hub_codes: tuple[str, ...]
    inertia_limit: Figure | None
    unbalance_limit: Figure | None
    torque_limit: Figure | None
    power_curve: tuple[tuple[float, float], ...]
    remark: str
    takeoff_speed: Figure | None = None


@dataclass(frozen=True, slots=True)
class Airframe:
    """An airframe: speeds in m/s, lengths in m. `static_speed_*` in rev/s of the propeller.

    `diameter_*` are limits of its data, `usual_diameter_*` what is flown on it. `usual_engine_names` are the names
    of `usual_engine_codes` where the catalogue was at hand. A category without a `category_source` is a guess.
    """

    code: str
    name: str
    category: Category
    position: Position
    gear: Gear | None
    usual_engine_codes: tuple[str, ...]
    cruise_speed: Figure | None
    top_speed: Figure | None
    never_exceed_speed: Figure | None
    stall_speed: Figure | None
    climb_speed: Figure | None
    diameter_min: Figure | None
    diameter_max: Figure | None
    static_speed_min: Figure | None
    static_speed_max: Figure | None
    hub_height: Figure | None
    remark: str
    usual_diameter_low: Figure | None = None
    usual_diameter_high: Figure | None = None
    category_source: str = ""
    usual_engine_names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class HubPattern:
    """A bolt pattern and the boss that goes with it: all lengths in m.

    A pattern with a missing `circle` or `hole` is incomplete: it can be quoted with a caution,
    but no drill template is made from it. `flange_diameter` is what the engine's side presses on the boss,
    `plate_diameter` what the front plate does.
    """

    code: str
    name: str
    bolts: int | None
    circle: Figure | None
    hole: Figure | None
    bolt: Figure | None
    pilot: Figure | None
    pilot_depth: Figure | None
    lug_diameter: Figure | None
    lug_depth: Figure | None
    boss_diameter: Figure | None
    boss_thickness: Figure | None
    plate_diameter: Figure | None
    entered_unit: str
    remark: str
    flange_diameter: Figure | None = None

    @property
    def is_blank(self) -> bool:
        """Whether it is a blank boss, bored at the centre only: 0 bolts, where None is a number not known."""
        return self.bolts == 0

    @property
    def is_complete(self) -> bool:
        """Whether nothing is open before drilling: number, circle and hole known and not doubtful, or a blank boss."""
        if self.is_blank:
            return True
        known = (f is not None and f.trust is not Trust.UNSURE for f in (self.circle, self.hole))
        return self.bolts is not None and all(known)


@dataclass(frozen=True, slots=True)
class Glue:
    """A laminating glue: clamp and rest times in hours at 21 °C, lowest temperature in °C, spread in kg/m2."""

    code: str
    name: str
    clamp_hours: Figure
    rest_hours: Figure
    lowest_temperature: Figure
    spread: Figure
    remark: str
    suitable_for_flight: bool = True


@dataclass(frozen=True, slots=True)
class Finish:
    """A finish: number of coats, hours between coats at 21 °C, spread in m2 per litre and coat."""

    code: str
    name: str
    coats: int
    recoat_hours: Figure
    spread: Figure
    colour: str
    remark: str
    suitable_for_flight: bool = True


@dataclass(frozen=True, slots=True)
class EdgeGuard:
    """A leading-edge guard: length as a fraction of the radius, mass per length in kg/m."""

    code: str
    name: str
    length_fraction: Figure
    mass_per_length: Figure
    remark: str


class TipForm(StrEnum):
    """Outline of the blade's end."""

    ROUND = "round"
    ELLIPTICAL = "elliptical"
    SQUARE_RAKED = "square-raked"
    SCIMITAR = "scimitar"
