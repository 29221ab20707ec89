"""The full, checked description of a propeller: the one input of geometry, price, date and drawing."""

from dataclasses import dataclass, field
from enum import StrEnum

from quoting.propeller.catalogue import (
    Airframe,
    Category,
    EdgeGuard,
    Engine,
    Finish,
    Glue,
    Hand,
    HubPattern,
    Position,
    Timber,
    TipForm,
)


class Use(StrEnum):
    """What the propeller is for. A display piece is stamped and papered NOT FOR FLIGHT."""

    FLIGHT = "flight"
    DISPLAY = "display"


class Wish(StrEnum):
    """What the customer knows about the size."""

    RECOMMEND = "recommend one"
    KNOWN = "I know diameter and pitch"
    COPY = "copy of an existing one"
    ENGINE_ONLY = "I only know engine and airframe"


@dataclass(frozen=True, slots=True)
class Decal:
    """A period marking the customer wishes: words, and where it sits along the blade (fraction of radius)."""

    text: str
    blade_station: float = 0.6
    both_blades: bool = True


@dataclass(frozen=True, slots=True)
class Hardware:
    """What is bolted up with the boss: face plate, spacer, spinner and bolts. Lengths in m, 0 for none."""

    face_plate_thickness: float = 0.0
    spacer_thickness: float = 0.0
    spinner_diameter: float = 0.0
    bolt_length: float | None = None
    bolts_ordered: bool = False


@dataclass(frozen=True, slots=True)
class Specification:
    """One propeller as ordered. Lengths in m, angles in degrees, speeds in m/s.

    `diameter` and `pitch` are None when the customer asks for a recommendation. `chord_factor` is the blade's
    width over the usual one, None to take what its strength asks for. `pitch_station` is the
    fraction of the radius at which the pitch is stated. `boss_diameter` and `boss_thickness` are None
    to take what goes with the hub pattern. `clocking` turns the bolt circle against the blades:
    0 puts a hole on the blade centre line. `top_speed` and `cruise_speed` are the customer's own
    figures and go before the catalogue's. `hub_height` is the height of the shaft above ground,
    `free_radius` the least radius round the shaft that is free of cowl, booms, tail and floats.
    `moisture` is the timber's moisture in percent, `climate_humidity` the relative humidity (0..1)
    where it will live. `quiet` asks for lower tip speed. `entered_unit` is the customer's unit of length, in or mm.
    """

    use: Use
    category: Category
    position: Position
    hand: Hand
    blades: int
    wish: Wish
    diameter: float | None
    pitch: float | None
    engine: Engine | None
    airframe: Airframe | None
    hub: HubPattern
    timber: Timber
    glue: Glue
    finish: Finish
    guard: EdgeGuard | None = None
    tip_form: TipForm = TipForm.ROUND
    pitch_station: float = 0.75
    chord_factor: float | None = None
    boss_diameter: float | None = None
    boss_thickness: float | None = None
    clocking: float = 0.0
    lamination_thickness: float = 0.019
    stepped_laminations: bool = True
    decal: Decal | None = None
    hardware: Hardware = field(default_factory=Hardware)
    top_speed: float | None = None
    cruise_speed: float | None = None
    hub_height: float | None = None
    free_radius: float | None = None
    altitude: float = 0.0
    moisture: float = 10.0
    climate_humidity: float = 0.6
    climate_temperature: float = 20.0
    quiet: bool = False
    quantity: int = 1
    entered_unit: str = "in"
