"""What bounds a recommendation, and how wide a blade is made: our own cautions are kept where a near size keeps them."""

from dataclasses import replace

import pytest

from quoting.propeller.assessment import assess
from quoting.propeller.bounds import bounds, inertia_diameter
from quoting.propeller.catalogue import Hand, Position
from quoting.propeller.finding import Severity
from quoting.propeller.specification import Use, Wish
from tests.quoting.samples import (
    HORSEPOWER,
    INCH,
    MPH,
    airframe,
    brass_guard,
    engine_65,
    engine_geared,
    metric_80,
    published,
    remembered,
    sae2,
    specification,
)

OPEN = {"wish": Wish.RECOMMEND, "diameter": None, "pitch": None, "hub_height": None}
STRONG = engine_65(code="strong", rated_power=remembered(150 * HORSEPOWER), rated_speed=remembered(2700 / 60))


def codes(**changes):
    return {f.code for f in assess(specification(**changes)).findings if f.severity is Severity.CAUTION}


def test_what_is_usual_on_the_airframe_bounds_what_is_offered():
    frame = airframe(usual_diameter_low=remembered(66 * INCH), usual_diameter_high=remembered(68 * INCH))
    done = assess(specification(airframe=frame, **OPEN))
    assert done.specification.diameter <= 68 * INCH + 1e-9
    assert "usual on this airframe" in done.recommendations[0].limited_by
    free = assess(specification(**OPEN))
    assert free.specification.diameter > 70 * INCH


def test_where_nothing_fits_within_the_usual_the_larger_is_offered_with_its_caution():
    frame = airframe(usual_diameter_low=remembered(30 * INCH), usual_diameter_high=remembered(30 * INCH))
    done = assess(specification(airframe=frame, **OPEN))
    assert done.can_be_made
    assert "usual-diameter" in {f.code for f in done.findings if f.severity is Severity.CAUTION}


def test_a_metal_propellers_diameters_bind_no_recommendation():
    metal = [published(inches * INCH, "a data sheet, metal propeller") for inches in (76, 78)]
    frame = airframe(diameter_min=metal[0], diameter_max=metal[1])
    limits = bounds(specification(airframe=frame, **OPEN))
    assert (limits.diameter_min, limits.diameter_max) == (None, None)
    low = specification(airframe=frame, **{**OPEN, "hub_height": 44 * INCH})
    assert assess(low).specification.diameter <= 70 * INCH + 1e-9


def test_contradicting_limits_are_told_the_right_way_up_in_inches():
    frame = airframe(diameter_min=published(80 * INCH, "a data sheet"))
    (stop,) = assess(specification(airframe=frame, **{**OPEN, "hub_height": 44 * INCH})).findings
    assert stop.severity is Severity.STOP
    assert "at most 70.0 in" in stop.message
    assert "ground clearance" in stop.message
    assert "at least 80.0 in" in stop.message


@pytest.mark.parametrize("guard", [None, brass_guard()])
@pytest.mark.parametrize("mph", [55, 70, 85])
def test_a_gearboxs_limit_of_inertia_is_kept_by_what_is_offered(mph, guard):
    engine = engine_geared(
        rated_power=remembered(64.4 * HORSEPOWER),
        rated_speed=remembered(6500 / 60),
        gear_ratio=published(2.58, "a page"),
        inertia_limit=published(0.30, "a page"),
    )
    changes = {"engine": engine, "hub": metric_80(), "airframe": None, "guard": guard, "top_speed": mph * MPH}
    done = assess(specification(**OPEN, **changes))
    assert done.mass.inertia <= 0.9 * 0.30
    assert "inertia" not in {f.code for f in done.findings if f.severity.rank >= Severity.CAUTION.rank}


def test_the_diameter_for_an_inertia_agrees_with_the_whole_propeller():
    for inches in (58, 72, 84):
        done = assess(specification(diameter=inches * INCH, pitch=0.6 * inches * INCH, hub_height=None))
        found = inertia_diameter(done.specification, done.boss, done.mass.inertia)
        assert found == pytest.approx(inches * INCH, rel=0.02)


# the trade's combination of 150 hp and a wooden 68 to 70 in stays within the factor; a larger one needs wider blades
def test_a_blade_is_as_wide_as_its_strength_asks_for():
    changes = {"engine": STRONG, "hub": sae2(), "airframe": None, "top_speed": 140 * MPH}
    done = assess(specification(**OPEN, **changes))
    assert 1.0 < done.specification.chord_factor <= 1.25
    assert min(case.tension_factor for case in done.strength.cases) >= 3.5
    usual = assess(specification(**OPEN, **changes, chord_factor=1.0))
    assert min(case.tension_factor for case in usual.strength.cases) < 3.5
    assert done.measures.wood_removed != usual.measures.wood_removed
    assert assess(specification(**OPEN)).specification.chord_factor == 1.0


def test_a_stored_width_a_copy_and_a_display_piece_keep_the_usual_blade():
    size = {"engine": STRONG, "hub": sae2(), "airframe": None, "diameter": 74 * INCH, "pitch": 56 * INCH}
    size["hub_height"] = None
    assert assess(specification(**size)).specification.chord_factor > 1.0
    assert "blade-width" in codes(**size)
    for kept in ({"chord_factor": 1.0}, {"wish": Wish.COPY}, {"use": Use.DISPLAY}):
        assert assess(specification(**size, **kept)).specification.chord_factor == 1.0


def test_what_was_resolved_once_is_resolved_the_same_again():
    changes = {"engine": STRONG, "hub": sae2(), "airframe": None, "top_speed": 140 * MPH}
    done = assess(specification(**OPEN, **changes))
    again = assess(done.specification)
    assert again.measures == done.measures
    assert again.specification == done.specification


def test_a_size_once_recommended_stays_though_less_would_be_offered_now():
    changes = {"engine": STRONG, "hub": sae2(), "airframe": None, "top_speed": 140 * MPH, "chord_factor": 1.0}
    kept = {"wish": Wish.RECOMMEND, "diameter": 76 * INCH, "pitch": 54 * INCH, "hub_height": None}
    done = assess(specification(**changes, **kept))
    assert done.can_be_made
    assert done.specification.diameter == 76 * INCH
    assert assess(specification(**OPEN, **changes)).specification.diameter < 75 * INCH


def test_a_pushers_clearance_is_named_as_that_of_level_attitude():
    frame = airframe(position=Position.PUSHER)
    made = specification(airframe=frame, position=Position.PUSHER, hand=Hand.LEFT, **OPEN)
    assert "aeroplane level" in bounds(replace(made, hub_height=1.0)).max_name
