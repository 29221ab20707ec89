"""Propeller, engine and airframe together: equilibrium, monotone laws, altitude, gear, level speed, refusals."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.propeller.aerodynamics import BODY_DRAG, STANDING_THRUST, OperatingPoints, solve
from quoting.propeller.atmosphere import SEA_LEVEL, Air, power_fraction
from quoting.propeller.blade import Blade
from quoting.propeller.catalogue import Engine, Position
from quoting.propeller.corrections import net_thrust
from quoting.propeller.figure import Figure, Trust
from quoting.propeller.matching import Powerplant, Speeds, Unmatched, performance
from quoting.propeller.powerplant import drag_area

INCH, MPH, HORSEPOWER = 0.0254, 0.44704, 745.69987
SIXTY_FIVE = Powerplant(65 * HORSEPOWER, 2300 / 60)
SLOW = Speeds(top=97 * MPH, cruise=85 * MPH, climb=60 * MPH, stall=38 * MPH, never_exceed=125 * MPH)
few = settings(max_examples=12, deadline=None)


def _blade(diameter=72.0, pitch=44.0, **changes):
    return Blade.wooden(diameter=diameter * INCH, pitch=pitch * INCH, **changes)


def _engine(**changes):
    fields = dict.fromkeys(Engine.__dataclass_fields__)
    fields |= {
        "code": "x",
        "name": "an engine",
        "power_curve": (),
        "hub_codes": (),
        "remark": "",
        "hand_source": "",
    }
    return Engine(**(fields | changes))


def _figure(value):
    return Figure(value, Trust.PUBLISHED, "a test")


def test_every_full_throttle_flight_absorbs_what_the_engine_gives():
    result = performance(_blade(), SIXTY_FIVE, SLOW)
    for name, flight in result.flights.items():
        if name != "cruise":
            assert flight.power == pytest.approx(float(SIXTY_FIVE.available(flight.speed)), rel=2e-3)


def test_cruise_is_level_flight():
    cruise = performance(_blade(), SIXTY_FIVE, SLOW).cruise
    drag = 0.5 * SEA_LEVEL.density * SLOW.cruise**2 * drag_area(SIXTY_FIVE, SLOW.top)
    assert cruise.thrust == pytest.approx(drag, rel=5e-3)


def test_at_the_level_speed_thrust_equals_drag():
    result = performance(_blade(), SIXTY_FIVE, SLOW)
    points = OperatingPoints.at(result.level_speed, result.level_shaft_speed)
    thrust = (1 - BODY_DRAG) * solve(_blade(), points, wake=result.wake).thrust[0]
    drag = 0.5 * SEA_LEVEL.density * result.level_speed**2 * drag_area(SIXTY_FIVE, SLOW.top)
    assert thrust == pytest.approx(drag, rel=0.02)
    assert result.level_speed == pytest.approx(SLOW.top, rel=0.06)


def test_a_faster_airframe_unloads_the_propeller():
    flights = performance(_blade(), SIXTY_FIVE, SLOW).flights
    assert flights["climb"].speed < flights["top"].speed
    pull = [flights[name].C_T * flights[name].speed ** 2 for name in ("static", "take-off", "climb", "top")]
    assert sorted(pull, reverse=True) == pull


@few
@given(st.floats(60, 84), st.floats(36, 60), st.floats(1.02, 1.1))
def test_more_pitch_or_diameter_never_turns_faster(diameter, pitch, more):
    plain, steep, large = (
        performance(_blade(d, p), SIXTY_FIVE, SLOW)
        for d, p in ((diameter, pitch), (diameter, more * pitch), (more * diameter, more * pitch))
    )
    assert steep.static.speed < plain.static.speed
    assert large.static.speed < plain.static.speed
    assert steep.top.speed < plain.top.speed


# sensitivity of a 72 x 44 on 65 hp: about 20 rpm standing and 33 in flight for an inch of pitch
def test_an_inch_of_pitch_costs_the_rpm_owners_report():
    one, other = (performance(_blade(pitch=p), SIXTY_FIVE, SLOW) for p in (44, 45))
    assert 15 < one.static.rpm - other.static.rpm < 30
    assert 25 < one.top.rpm - other.top.rpm < 50


@few
@given(st.floats(0, 4000))
def test_altitude_takes_power_as_the_rule_says(altitude):
    air = Air.at(altitude)
    result = performance(_blade(), SIXTY_FIVE, Speeds(), air=air)
    wanted = SIXTY_FIVE.available(result.static.speed) * power_fraction(air)
    assert result.static.power == pytest.approx(float(wanted), rel=2e-3)


def test_a_pusher_behind_a_body_turns_slower_at_top_speed():
    tractor, pusher = (performance(_blade(), SIXTY_FIVE, SLOW, position=p) for p in Position)
    assert pusher.top.speed < tractor.top.speed
    assert pusher.static.speed == pytest.approx(tractor.static.speed)


def test_the_other_hand_performs_the_same():
    ours, theirs = (performance(b, SIXTY_FIVE, SLOW) for b in (_blade(), _blade().mirrored()))
    assert ours.flights == theirs.flights


def test_bands_hold_the_figure_and_standing_thrust_is_the_least_certain():
    result = performance(_blade(), SIXTY_FIVE, SLOW)
    for flight in result.flights.values():
        assert flight.thrust_band.low < flight.thrust < flight.thrust_band.high
        assert flight.rpm_band.low < flight.rpm < flight.rpm_band.high
    width = {n: (f.thrust_band.high - f.thrust_band.low) / f.thrust for n, f in result.flights.items()}
    assert max(width, key=width.get) == "static"


# pi x 72 in x 2300 rpm = 722.6 ft/s
def test_tip_speed_is_told_in_the_trades_feet():
    static = performance(_blade(), SIXTY_FIVE, SLOW).static
    assert static.tip_speed_ft_s == pytest.approx(722.6 * static.rpm / 2300, rel=1e-3)
    assert static.tip_mach == pytest.approx(static.tip_speed / SEA_LEVEL.sound)


def test_a_closed_throttle_dive_windmills_without_taking_power():
    result = performance(_blade(), SIXTY_FIVE, SLOW)
    points = OperatingPoints.at(SLOW.never_exceed, result.dive_shaft_speed)
    assert abs(solve(_blade(), points, wake=result.wake).C_P[0]) < 0.004
    faster = performance(_blade(), SIXTY_FIVE, dataclasses.replace(SLOW, never_exceed=140 * MPH))
    assert faster.dive_shaft_speed / result.dive_shaft_speed == pytest.approx(140 / 125)


def test_without_an_airframe_there_is_a_static_figure_and_nothing_invented():
    result = performance(_blade(), SIXTY_FIVE)
    assert list(result.flights) == ["static"]
    assert (result.level_speed, result.dive_shaft_speed, result.curves.drag) == (None, None, None)


def test_a_gear_turns_the_propeller_slower_with_the_same_power():
    engine = _engine(rated_power=_figure(60e3), rated_speed=_figure(96.0), gear_ratio=_figure(2.4))
    plant = Powerplant.from_engine(engine)
    assert plant.speed == pytest.approx(40)
    assert float(plant.available(40)) == pytest.approx(60e3)


def test_a_power_curve_goes_before_the_default_law():
    plant = Powerplant(50e3, 40, ((0.5, 0.4), (0.8, 0.9), (1.0, 1.0)))
    assert plant.available([20, 32, 40]) == pytest.approx([20e3, 45e3, 50e3])
    assert float(plant.available(10)) == pytest.approx(10e3)


def test_an_engine_without_a_rating_is_told_so():
    with pytest.raises(ValueError, match="engine: no rated power and speed are known for an engine"):
        Powerplant.from_engine(_engine())


@pytest.mark.parametrize(
    ("field", "make"),
    [
        ("engine", lambda: Powerplant(50e3, 0.0)),
        ("engine", lambda: Powerplant(math.nan, 40)),
        ("engine", lambda: Powerplant(50e3, 40, ((0.5, -1.0),))),
        ("top_speed", lambda: Speeds(top=20, stall=25)),
        ("cruise_speed", lambda: Speeds(cruise=math.inf)),
        ("top_speed", lambda: Speeds(top=-5)),
    ],
)
def test_nonsense_is_refused_at_its_field(field, make):
    with pytest.raises(ValueError, match=f"^{field}:"):
        make()


def test_an_engine_that_cannot_turn_the_propeller_is_told_with_both_powers():
    with pytest.raises(Unmatched, match="far too large") as raised:
        performance(Blade.wooden(diameter=3.0, pitch=3.0), Powerplant(10e3, 40.0))
    wrong = raised.value
    assert (wrong.code, wrong.field, wrong.unit) == ("power-mismatch", "diameter", "W")
    assert wrong.figure > 5 * wrong.limit
    assert wrong.limit == pytest.approx(10e3)


def test_a_propeller_that_lets_the_engine_run_away_is_told_too():
    with pytest.raises(Unmatched, match="run away") as raised:
        performance(_blade(24, 10), Powerplant(50e3, 20.0))
    assert raised.value.field == "pitch"
    assert raised.value.figure < 0.2 * raised.value.limit


def test_tips_far_past_the_speed_of_sound_are_told_with_their_mach_number():
    with pytest.raises(Unmatched, match="speed of sound") as raised:
        performance(_blade(72, 44), Powerplant(800e3, 80.0))
    assert raised.value.code == "tip-mach"
    assert raised.value.figure > 1.15


def test_a_steep_blade_is_less_certain_standing_than_a_fine_one():
    fine, steep = (performance(_blade(72, pitch), SIXTY_FIVE, SLOW).static for pitch in (44, 64))
    assert fine.speed_band.low == pytest.approx(0.97 * fine.speed)
    assert steep.speed_band.low == pytest.approx(0.94 * steep.speed)
    assert steep.power_band.high / steep.power > fine.power_band.high / fine.power


def test_quoted_thrust_passes_without_a_step_from_standing_to_flight():
    advance = np.linspace(0, 0.8, 81)
    share = net_thrust(advance, np.full(81, 0.6))
    assert share[0] == pytest.approx(STANDING_THRUST)
    assert share[-1] == pytest.approx(1 - BODY_DRAG)
    assert (np.diff(share) >= 0).all()
    assert np.diff(share).max() < 0.002


def test_thrust_is_less_certain_the_nearer_to_standing():
    flights = performance(_blade(), SIXTY_FIVE, SLOW).flights
    widths = [
        flights[name].thrust_band.high / flights[name].thrust - 1 for name in ("static", "take-off", "top")
    ]
    assert widths[0] == pytest.approx(0.15)
    assert widths[0] > widths[1] > widths[2] == pytest.approx(0.07)


def test_curves_for_pictures_are_finite_and_cross_where_the_engine_does():
    curves = performance(_blade(), SIXTY_FIVE, SLOW).curves
    assert np.isfinite(curves.thrust).all()
    gap = curves.available - curves.absorbed_static
    assert gap[0] > 0 > gap[-1]
