"""More of what is bad never gives a milder finding: each check is monotone in its figure."""

from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.propeller.assessment import Assessment, assess
from quoting.propeller.checks import boss as boss_checks
from quoting.propeller.checks import clamping, size, strength, wood
from quoting.propeller.checks.evidence import Evidence
from quoting.propeller.finding import worst
from quoting.propeller.hub import boss
from quoting.propeller.joint import joint
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


@pytest.mark.parametrize("smaller", [0.9, 0.5, 0.2])
def test_the_ranks_are_not_all_the_same(smaller):
    assert rank(size.ground_clearance, specified(hub_height=1.1684 * smaller)) > rank(
        size.ground_clearance, specified(hub_height=1.2)
    )
