"""More of what is bad never gives a milder finding: each check is monotone in its figure."""

from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.propeller.assessment import Assessment, assess
from quoting.propeller.checks import boss as boss_checks
from quoting.propeller.checks import clamping, running, size, strength, wood
from quoting.propeller.checks.evidence import Evidence
from quoting.propeller.finding import Severity, worst
from quoting.propeller.hub import boss
from quoting.propeller.joint import joint
from quoting.propeller.matching import Band, Flight
from quoting.propeller.specification import Hardware
from quoting.propeller.timber import seasons
from tests.quoting.samples import INCH, birch, engine_geared, metric_80, published, specification


@cache
def evidence(geared: bool = False) -> Evidence:
    changes = {"engine": engine_geared(), "hub": metric_80()} if geared else {}
    done: Assessment = assess(specification(**changes))
    return Evidence(
        specification=done.specification,
        boss=done.boss,
        lamination=done.lamination,
        mass=done.mass,
        blade_depth=done.surface.deepest,
        joint=done.joint,
        seasons=done.seasons,
        rated_speed=2300 / 60,
        performance=done.performance,
        strength=done.strength,
    )


def specified(**changes) -> Evidence:
    held = evidence()
    changed = replace(held.specification, **changes)
    return replace(
        held,
        specification=changed,
        boss=boss(changed),
        joint=joint(boss(changed), changed.timber, changed.engine),
        seasons=seasons(changed.timber, 0.1, 0.11, changed.moisture, 20.0, changed.climate_humidity),
    )


def rank(check, given_evidence: Evidence) -> int:
    return worst(check(given_evidence)).rank


@settings(deadline=None)
@given(st.floats(0.5, 2.0), st.floats(0.0, 0.5))
def test_a_lower_shaft_is_never_judged_more_mildly(height, lower):
    high, low = specified(hub_height=height), specified(hub_height=max(height - lower, 0.3))
    assert rank(size.ground_clearance, low) >= rank(size.ground_clearance, high)


@settings(deadline=None)
@given(st.floats(0.5, 2.0), st.floats(0.0, 0.5))
def test_less_free_room_is_never_judged_more_mildly(room, less):
    wide, narrow = specified(free_radius=room), specified(free_radius=max(room - less, 0.2))
    assert rank(size.structure_clearance, narrow) >= rank(size.structure_clearance, wide)


@settings(deadline=None)
@given(st.floats(5e6, 200e6), st.floats(0.1, 1.0))
def test_weaker_wood_is_never_judged_more_mildly(rupture, share):
    held = evidence()

    def judged(breaking: float) -> int:
        timber = birch(modulus_of_rupture=published(breaking, "a handbook"))
        cases = tuple(
            replace(case, tension_factor=breaking / float(case.tension.max())) for case in held.strength.cases
        )
        changed = replace(held.specification, timber=timber)
        return rank(
            strength.stress,
            replace(held, specification=changed, strength=replace(held.strength, cases=cases)),
        )

    assert judged(rupture * share) >= judged(rupture)


@settings(deadline=None)
@given(st.floats(0.1, 1.5), st.floats(1.0, 2.0))
def test_more_inertia_is_never_judged_more_mildly(inertia, more):
    held = evidence(geared=True)

    def judged(value: float) -> int:
        return rank(strength.inertia, replace(held, mass=replace(held.mass, inertia=value)))

    assert judged(inertia * more) >= judged(inertia)


@settings(deadline=None)
@given(st.floats(5.1, 8.0), st.floats(0.0, 1.0))
def test_a_smaller_boss_is_never_judged_more_mildly(diameter, less):
    large = specified(boss_diameter=diameter * INCH)
    small = specified(boss_diameter=max(diameter - less, 4.9) * INCH)
    assert rank(boss_checks.edge_wood, small) >= rank(boss_checks.edge_wood, large)


@settings(deadline=None)
@given(st.floats(0.05, 0.125), st.floats(0.0, 0.05))
def test_a_shorter_bolt_is_never_judged_more_mildly_below_what_is_needed(length, less):
    long = specified(hardware=Hardware(bolt_length=length))
    short = specified(hardware=Hardware(bolt_length=max(length - less, 0.02)))
    assert rank(boss_checks.bolt_length, short) >= rank(boss_checks.bolt_length, long)


@settings(deadline=None)
@given(st.floats(1e6, 15e6), st.floats(0.1, 1.0))
def test_softer_wood_is_never_judged_more_mildly(crushing, share):
    hard = specified(timber=birch(compression_perpendicular=published(crushing, "")))
    soft = specified(timber=birch(compression_perpendicular=published(crushing * share, "")))
    for check in (clamping.crushing, clamping.torque_transfer):
        assert rank(check, soft) >= rank(check, hard)


@settings(deadline=None)
@given(st.floats(12, 28), st.floats(0, 10))
def test_wetter_wood_is_never_judged_more_mildly(moisture, wetter):
    dry = specified(moisture=moisture, climate_humidity=0.65)
    wet = specified(moisture=min(moisture + wetter, 28), climate_humidity=0.65)
    assert rank(wood.moisture, wet) >= rank(wood.moisture, dry)


def turning(share: float, held: Evidence) -> Evidence:
    """The same propeller found to stand at `share` of the rated rpm, and to fly as much faster."""

    def at(flight: Flight) -> Flight:
        speed = flight.speed * share * held.rated_speed / held.performance.static.speed
        tip = flight.tip_speed * speed / flight.speed
        mach, band = flight.tip_mach * speed / flight.speed, Band.about(speed, 0.03)
        return replace(flight, speed=speed, speed_band=band, tip_speed=tip, tip_mach=mach)

    flown = held.performance
    return replace(held, performance=replace(flown, static=at(flown.static), top=at(flown.top)))


@settings(deadline=None)
@given(st.floats(0.8, 1.6), st.floats(1.0, 1.5))
def test_more_revolutions_are_never_judged_more_mildly_past_the_rated_ones(share, more):
    for check in (running.static_rpm, running.over_rev, running.tip_speed):
        assert rank(check, turning(share * more, evidence())) >= rank(check, turning(share, evidence()))


@settings(deadline=None)
@given(st.floats(0.3, 0.85), st.floats(0.5, 1.0))
def test_fewer_revolutions_are_never_judged_more_mildly_below_what_take_off_needs(share, less):
    for check in (running.static_rpm, running.power_match):
        assert rank(check, turning(share * less, evidence())) >= rank(check, turning(share, evidence()))


def test_revolutions_run_through_every_severity():
    ranks = {rank(running.static_rpm, turning(share, evidence())) for share in (0.5, 0.72, 0.9, 1.2)}
    assert ranks == {Severity.NOTE.rank, Severity.CAUTION.rank, Severity.STOP.rank}


@settings(deadline=None)
@given(st.floats(0.3, 2.0), st.floats(1.0, 2.0))
def test_more_weight_is_never_judged_more_mildly(share, more):
    def judged(times: float) -> int:
        held = evidence()
        return rank(strength.weight, replace(held, mass=replace(held.mass, total=times * held.mass.total)))

    assert judged(share * more) >= judged(share)


@pytest.mark.parametrize("smaller", [0.9, 0.5, 0.2])
def test_the_ranks_are_not_all_the_same(smaller):
    assert rank(size.ground_clearance, specified(hub_height=1.1684 * smaller)) > rank(
        size.ground_clearance, specified(hub_height=1.2)
    )
