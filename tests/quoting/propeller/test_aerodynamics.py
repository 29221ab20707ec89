"""The solver: similarity, the momentum bound, hover, hand, batches, and points it must refuse."""

import dataclasses
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.propeller.aerodynamics import BARE, WOODEN, OperatingPoints, Solver, solve
from quoting.propeller.atmosphere import Air
from quoting.propeller.blade import Blade

SIMILAR = dataclasses.replace(WOODEN, compressibility=False, reynolds=1e6)
ratios = st.floats(0.4, 1.1)
advances = st.floats(0.0, 0.9)
few = settings(max_examples=20, deadline=None)


def _blade(ratio=0.611, diameter=1.8288, **changes):
    return Blade.wooden(diameter=diameter, pitch=ratio * diameter, **changes)


def _points(blade, advance, speed=2300 / 60):
    return OperatingPoints.at(np.asarray(advance) * speed * blade.diameter, speed)


@few
@given(ratios, advances, st.floats(0.5, 3.0), st.floats(2, 25))
def test_without_mach_and_reynolds_effects_only_shape_and_advance_matter(ratio, advance, diameter, speed):
    one, other = _blade(ratio), _blade(ratio, diameter)
    ours = solve(one, _points(one, advance), corrections=SIMILAR)
    theirs = solve(other, _points(other, advance, speed), corrections=SIMILAR)
    assert ours.C_T == pytest.approx(theirs.C_T, abs=1e-6)
    assert ours.C_P == pytest.approx(theirs.C_P, abs=1e-6)


@few
@given(ratios, st.floats(0.05, 0.9), st.sampled_from([2, 3, 4]))
def test_efficiency_never_passes_momentum_theory(ratio, advance, blades):
    blade = _blade(ratio, blades=blades)
    solution = solve(blade, _points(blade, advance))
    if solution.C_T[0] > 0.001:
        ideal = 2 / (1 + np.sqrt(1 + 8 * solution.C_T[0] / (np.pi * solution.J[0] ** 2)))
        assert solution.efficiency[0] < ideal


@few
@given(ratios, st.sampled_from([2, 3, 4]))
def test_standing_power_never_undercuts_momentum_theory(ratio, blades):
    blade = _blade(ratio, blades=blades)
    solution = solve(blade, _points(blade, 0.0))
    assert solution.C_P[0] > solution.C_T[0] ** 1.5 * np.sqrt(2 / np.pi)


def test_the_other_hand_has_the_same_figures():
    blade = _blade()
    ours, theirs = (solve(b, _points(b, [0.0, 0.4])) for b in (blade, blade.mirrored()))
    assert (ours.C_T == theirs.C_T).all()
    assert (ours.thrust_per_m == theirs.thrust_per_m).all()


@few
@given(ratios, st.floats(0, 40), st.floats(20, 40), st.floats(1.02, 1.3))
def test_more_rpm_never_pulls_less_nor_takes_less_power(ratio, airspeed, speed, faster):
    blade = _blade(ratio)
    solution = solve(blade, OperatingPoints.at(airspeed, [speed, faster * speed]))
    if solution.C_T[0] > 0:
        assert solution.thrust[1] > solution.thrust[0]
        assert solution.power[1] > solution.power[0]


@few
@given(advances)
def test_more_pitch_takes_more_power_and_more_blades_take_more(advance):
    blade, steeper, more = _blade(0.6), _blade(0.7), _blade(0.6, blades=3)
    power = [solve(b, _points(b, min(advance, 0.5))).C_P[0] for b in (blade, steeper, more)]
    assert power[0] < power[1]
    assert power[0] < power[2] < 1.5 * power[0]


def test_hover_is_the_limit_of_slow_flight():
    blade = _blade()
    solution = solve(blade, _points(blade, [0.0, 1e-4]))
    assert solution.C_T[0] == pytest.approx(solution.C_T[1], rel=1e-3)
    assert solution.C_P[0] == pytest.approx(solution.C_P[1], rel=1e-3)
    assert solution.efficiency[0] == 0


def test_a_batch_answers_like_its_points_alone():
    blade = _blade()
    points = OperatingPoints.at(np.linspace(0, 45, 900), np.linspace(30, 45, 900))
    together = solve(blade, points)
    for i in (0, 200, 767, 768, 899):
        alone = solve(blade, OperatingPoints.at(points.airspeed[i], points.speed[i]))
        assert together.C_P[i] == pytest.approx(alone.C_P[0], rel=1e-4)


def test_fourteen_stations_are_as_good_as_sixty():
    blade = _blade()
    coarse, fine = (solve(blade, _points(blade, [0.0, 0.3, 0.5]), stations=k) for k in (14, 60))
    assert coarse.C_T == pytest.approx(fine.C_T, rel=0.004)
    assert coarse.C_P == pytest.approx(fine.C_P, rel=0.006)


def test_spanwise_loads_add_up_to_thrust_and_torque():
    blade = _blade(blades=3)
    solution = solve(blade, _points(blade, [0.2]))
    assert 3 * solution.thrust_per_m[0] @ solution.width == pytest.approx(solution.thrust[0])
    assert 3 * solution.torque_per_m[0] @ solution.width == pytest.approx(solution.torque[0])


def test_pitches_given_point_by_point_answer_like_their_own_blades():
    ratios = np.array([0.5, 0.8])
    points = OperatingPoints.at([20.0, 20.0], 38.0)
    together = Solver(_blade(0.6)).with_pitches(ratios * 1.8288, points)
    for i, ratio in enumerate(ratios):
        alone = solve(_blade(ratio), OperatingPoints.at(20.0, 38.0))
        assert together.C_P[i] == pytest.approx(alone.C_P[0], rel=1e-3)


def test_a_body_ahead_of_or_behind_the_disc_loads_the_propeller():
    blade = _blade()
    free, installed = (solve(blade, _points(blade, 0.5), wake=w) for w in (0.0, 0.06))
    assert installed.C_P[0] > free.C_P[0]
    assert installed.J[0] == free.J[0]


def test_thin_air_changes_forces_but_not_coefficients():
    blade = _blade()
    sea, high = (OperatingPoints.at(30.0, 38.0, Air.at(altitude)) for altitude in (0, 3000))
    ours, theirs = (solve(blade, p, corrections=SIMILAR) for p in (sea, high))
    assert theirs.C_T == pytest.approx(ours.C_T, rel=1e-6)
    assert theirs.thrust[0] / ours.thrust[0] == pytest.approx(Air.at(3000).density / Air.at(0).density)


def test_wind_milling_has_no_efficiency():
    blade = _blade(0.5)
    solution = solve(blade, _points(blade, 1.2))
    assert solution.C_P[0] < 0
    assert np.isnan(solution.efficiency[0])


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0.1, 2.5),
    st.floats(0.05, 6.0),
    st.floats(0, 200),
    st.floats(0.01, 1.0),
    st.sampled_from([2, 3, 4]),
)
def test_whatever_is_asked_is_answered_with_numbers_and_no_warning(ratio, diameter, airspeed, mach, blades):
    blade = _blade(ratio, diameter, blades=blades)
    speed = min(mach * 340 / (np.pi * diameter), 2000)
    airspeed = min(airspeed, 3 * speed * diameter)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        solution = solve(blade, OperatingPoints.at(airspeed, speed))
    assert np.isfinite([solution.thrust[0], solution.power[0]]).all()
    assert np.isfinite(solution.thrust_per_m).all()


def test_a_blade_set_to_push_backwards_in_still_air_is_refused():
    blade = Blade.from_table(
        diameter=2, blades=2, r_R=[0.2, 0.6, 1], c_R=[0.1] * 3, t_c=[0.1] * 3, beta_deg=[-20, -20, -20]
    )
    with pytest.raises(ValueError, match="point 1: no steady flow"):
        solve(blade, OperatingPoints.at(0.0, 20.0), corrections=BARE)


def test_a_supersonic_tip_is_refused():
    with pytest.raises(
        ValueError, match="point 2: helical tip Mach number 1.69, the method covers up to 1.2"
    ):
        solve(_blade(), OperatingPoints.at(0.0, [30.0, 100.0]))


@pytest.mark.parametrize(
    ("message", "airspeed", "speed"),
    [
        ("airspeed: point 2: nan", [10, float("nan")], 30),
        ("airspeed: point 1: -1", -1, 30),
        ("speed: point 1: 0", 10, 0),
        ("speed: point 2: inf", 10, [30, float("inf")]),
        ("speed: point 1: 1e", 10, 1e9),
    ],
)
def test_a_point_that_cannot_be_flown_is_named(message, airspeed, speed):
    with pytest.raises(ValueError, match=message):
        OperatingPoints.at(airspeed, speed)


def test_a_density_of_nothing_is_refused():
    with pytest.raises(ValueError, match="density: point 1"):
        OperatingPoints.with_density(10, 30, 0)
