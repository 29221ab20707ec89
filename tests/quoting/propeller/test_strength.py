"""Stress along the blade, against closed forms and a separately worked 72 x 44 in birch."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.propeller.aerodynamics import OperatingPoints, solve
from quoting.propeller.blade import Blade
from quoting.propeller.catalogue import TipForm
from quoting.propeller.loft import loft
from quoting.propeller.strength import (
    Loads,
    bending_moment,
    centrifugal_pull,
    deflection,
    strength,
    swept_moment,
)
from tests.quoting.samples import INCH, MPH, birch


def stressed(airspeed, rpm, *, timber=None, density=670.0, **changes):
    blade = Blade.wooden(diameter=72 * INCH, pitch=44 * INCH, **changes)
    air = solve(blade, OperatingPoints.at(airspeed, rpm / 60))
    loads = Loads("case", rpm / 60, air.radius, air.thrust_per_m[0], air.torque_per_m[0] / air.radius)
    return strength(loft(blade, 0.150, 0.100), timber or birch(), density, (loads,)).worst


def at(case, station, name):
    return float(np.interp(station, case.r_R, getattr(case, name)))


# cantilever under an even load: w = q L^4 / (8 E I)
def test_an_even_load_bends_a_beam_as_the_textbook_says():
    r = np.linspace(0, 2.0, 25)
    tip = deflection(r, np.full(25, 500.0), np.zeros(25), np.full(25, 30.0))[-1]
    assert tip == pytest.approx(30 * 2.0**4 / (8 * 500), rel=1e-6)


# cantilever under an even load q with even pull F, k = sqrt(F/EI): the beam-column closed form
def test_a_pulled_beam_bends_as_the_closed_form_says():
    length, rigidity, pull, load = 2.0, 500.0, 2000.0, 30.0
    r = np.linspace(0, length, 49)
    k = np.sqrt(pull / rigidity)
    kl = k * length
    expected = load / (rigidity * k**4) * ((kl**2 / 2) - (kl * np.tanh(kl)) + 1 - 1 / np.cosh(kl))
    tip = deflection(r, np.full(49, rigidity), np.full(49, pull), np.full(49, load))[-1]
    assert tip == pytest.approx(expected, rel=1e-3)


# F = m r Omega^2: 1.5 kg with its centre at 0.40 m and 2500 rpm pulls 41.1 kN
def test_pull_is_mass_times_radius_times_omega_squared():
    r = np.linspace(0.399, 0.401, 101)
    area = np.full(101, 1.5 / (700 * 0.002))
    assert centrifugal_pull(area, r, 700, 2500 / 60)[0] == pytest.approx(41.1e3, rel=1e-3)


def test_the_moment_of_an_even_load_is_half_q_l_squared():
    r = np.linspace(0, 3.0, 400)
    assert bending_moment(np.full(400, 10.0), r)[0] == pytest.approx(45.0, rel=1e-4)


# the separate computation's chords
NARROWER = 1 / 1.035


# a separate prototype of 72 x 44, 3.5 % narrower, in birch at 670 kg/m3, 13.9 GPa, static at 2100 rpm: pull 16.4 kN
# at 0.20 R, total stress with relief 10.4, 30.0, 28.8 and 19.3 MPa at 0.20, 0.40, 0.50 and 0.75 R, tip 59 and 33 mm
@pytest.mark.parametrize(("station", "total"), [(0.20, 10.4), (0.40, 30.0), (0.50, 28.8), (0.75, 19.3)])
def test_static_stress_agrees_with_a_separate_computation(station, total):
    assert at(stressed(0.0, 2100, chord_factor=NARROWER), station, "tension") == pytest.approx(
        total * 1e6, rel=0.06
    )


def test_static_pull_and_deflection_agree_with_a_separate_computation():
    case = stressed(0.0, 2100, chord_factor=NARROWER)
    assert at(case, 0.20, "pull") == pytest.approx(16.4e3, rel=0.02)
    assert case.tip_deflection_linear == pytest.approx(0.059, rel=0.05)
    assert case.tip_deflection == pytest.approx(0.033, abs=0.004)


# the same prototype at 2600 rpm and 90 mph: pull 25.2 kN and 10.1 MPa at 0.20 R, direct 7.7 MPa at 0.40 R
def test_stress_in_flight_agrees_with_a_separate_computation():
    case = stressed(90 * MPH, 2600, chord_factor=NARROWER)
    assert at(case, 0.20, "pull") == pytest.approx(25.2e3, rel=0.02)
    assert at(case, 0.20, "tension") == pytest.approx(10.1e6, rel=0.10)  # air loads by another solver
    assert at(case, 0.40, "direct") == pytest.approx(7.7e6, rel=0.02)


def test_the_worst_station_is_out_along_the_blade_not_at_the_boss():
    assert 0.30 < stressed(0.0, 2100).worst_station < 0.55


def test_the_pull_straightens_the_blade():
    case = stressed(0.0, 2100)
    assert case.tip_deflection < case.tip_deflection_linear
    assert at(case, 0.5, "bending") < at(case, 0.5, "bending_linear")


@given(st.floats(1000, 2600), st.floats(1.01, 1.3))
@settings(max_examples=10, deadline=None)
def test_more_revolutions_never_pull_less(rpm, more):
    slow, fast = stressed(0.0, rpm), stressed(0.0, rpm * more)
    assert np.all(fast.pull[:-1] > slow.pull[:-1])
    assert fast.tension.max() > slow.tension.max()


def test_the_pull_does_not_bend_a_blade_that_leans_through_the_shaft():
    r, area = np.linspace(0.1, 1.0, 200), np.linspace(2.0, 1.0, 200)
    assert swept_moment(r, area, 0.1 * r) == pytest.approx(np.zeros(200), abs=1e-12)


# aft by d all along: d times the integral of A (r' - r), here 0.02 x 3 x 0.9^2 / 2
def test_the_pull_straightens_a_blade_set_off_the_shaft():
    r = np.linspace(0.1, 1.0, 400)
    moment = swept_moment(r, np.full(400, 3.0), np.full(400, 0.02))
    assert moment[0] == pytest.approx(0.02 * 3 * 0.81 / 2, rel=1e-4)


def test_a_scimitar_is_bent_more_outboard_than_a_straight_blade():
    still = (Loads("no air", 40.0, np.array([0.1, 0.9]), np.zeros(2), np.zeros(2)),)
    forms = (TipForm.ELLIPTICAL, TipForm.SCIMITAR)
    blades = [Blade.wooden(diameter=1.8, pitch=1.1, tip_form=form) for form in forms]
    straight, swept = (strength(loft(b, 0.15, 0.10), birch(), 670.0, still).worst for b in blades)
    assert at(swept, 0.75, "bending") > 1.1 * at(straight, 0.75, "bending")


# 7.8 MPa of direct stress at 2600 rpm (same prototype): rupture over twice that is 114 / 15.6
def test_the_factor_on_twice_the_pull_is_shown_for_comparison():
    blade = Blade.wooden(diameter=72 * INCH, pitch=44 * INCH)
    still = (Loads("no air", 2600 / 60, np.array([0.1, 0.9]), np.zeros(2), np.zeros(2)),)
    found = strength(loft(blade, 0.150, 0.100), birch(), 670.0, still)
    assert found.pull_twice_factor == pytest.approx(114 / 15.6, rel=0.03)


def test_a_timber_without_published_stiffness_is_given_no_relief():
    case = stressed(0.0, 2100, timber=birch(modulus_of_elasticity=None))
    assert case.tip_deflection is None
    assert at(case, 0.5, "tension") > at(stressed(0.0, 2100), 0.5, "tension")


def test_a_timber_without_published_strength_has_no_factor():
    case = stressed(0.0, 2100, timber=birch(modulus_of_rupture=None))
    assert case.tension_factor is None
    assert case.compression_factor == pytest.approx(56.3e6 / case.compression.max())
