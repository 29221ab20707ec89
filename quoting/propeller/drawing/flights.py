"""The figures of each flight with their bands, in the reader's units: one row a flight, for a table beside the pictures."""

from dataclasses import dataclass
from math import isfinite

from quoting.propeller.drawing.lettering import Units, grouped
from quoting.propeller.drawing.performance import Shown, shown_units
from quoting.propeller.matching import Band, Flight, Performance

FEET = 0.3048
TO = " \N{EN DASH} "
FLIGHTS = {
    "static": "standing",
    "take-off": "take-off run",
    "climb": "climb",
    "cruise": "level at cruising speed",
    "top": "top speed",
}
"""Names of the flights as `Performance.flights` has them, in words."""


@dataclass(frozen=True, slots=True)
class FlightRow:
    """One flight in words: every figure as its band from low to high, the airspeed and the tips as they are."""

    name: str
    airspeed: str
    rpm: str
    thrust: str
    power: str
    efficiency: str
    tips: str
    tip_mach: str


HEAD = ("", "airspeed", "rev/min", "thrust", "power absorbed", "efficiency", "tips", "helical Mach")


def band_words(band: Band, shown: Shown, *, digits: int = 0) -> str:
    """The band in the unit shown: 443 - 599 lbf."""
    ends = (grouped(end / shown.per, digits) for end in (band.low, band.high))
    return f"{TO.join(ends)} {shown.name}"


def _row(name: str, flight: Flight, units: Units) -> FlightRow:
    shown = shown_units(units)
    efficiency = flight.efficiency_band
    known = flight.airspeed > 0 and isfinite(efficiency.low) and efficiency.high > 0
    first, second = (
        (flight.tip_speed / FEET, "ft/s"),
        (flight.tip_speed, "m/s"),
    )
    if units == "mm":
        first, second = second, first
    return FlightRow(
        name=FLIGHTS.get(name, name),
        airspeed=f"{grouped(flight.airspeed / shown['speed'].per)} {shown['speed'].name}",
        rpm=band_words(flight.rpm_band, Shown(1.0, "")).strip(),
        thrust=band_words(flight.thrust_band, shown["thrust"]),
        power=band_words(flight.power_band, shown["power"]),
        efficiency=f"{max(efficiency.low, 0):.2f}{TO}{min(efficiency.high, 1):.2f}" if known else "",
        tips=f"{grouped(first[0])} {first[1]} ({grouped(second[0])} {second[1]})",
        tip_mach=f"{flight.tip_mach:.2f}",
    )


def flight_rows(performance: Performance, units: Units) -> tuple[FlightRow, ...]:
    """A row for each known flight, in the order an airframe meets them."""
    return tuple(_row(name, flight, units) for name, flight in performance.flights.items())
