"""The one entry, end to end: a specification in, geometry, figures and findings out; never a traceback."""

import subprocess
import sys
import warnings
from dataclasses import fields, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.propeller.assessment import Assessment, assess
from quoting.propeller.catalogue import Hand, TipForm
from quoting.propeller.checks.validity import RANGES, validate
from quoting.propeller.figure import Figure, Trust
from quoting.propeller.finding import Severity
from quoting.propeller.specification import Decal, Hardware, Use, Wish
from tests.quoting.samples import (
    INCH,
    MPH,
    airframe,
    blank_boss,
    brass_guard,
    engine_65,
    engine_geared,
    metric_80,
    published,
    sae1,
    specification,
    varnish,
)

SOUND = assess(specification())


def stopped_at(assessment: Assessment) -> set[str]:
    return {f.field for f in assessment.findings if f.severity is Severity.STOP}


def test_a_known_size_is_assessed_whole():
    assert SOUND.can_be_made
    assert SOUND.measures.diameter == pytest.approx(72 * INCH)
    assert SOUND.measures.pitch == pytest.approx(44 * INCH)
    assert SOUND.performance.static.rpm == pytest.approx(2070, rel=0.03)
    assert 0.3 < SOUND.strength.worst.worst_station < 0.6
    assert SOUND.lamination.layers == SOUND.measures.laminations


def test_the_resolved_specification_says_what_boss_was_taken():
    assert SOUND.specification.boss_diameter == pytest.approx(6 * INCH)
    assert SOUND.specification.boss_thickness == pytest.approx(4 * INCH)


# certified wooden 72 x 42 to 72 x 44 on 65 hp at 2300 rpm (type certificate A-720): 68 to 85 in allowed
def test_a_recommendation_for_65_horsepower_is_near_the_certified_size():
    wished = assess(specification(wish=Wish.RECOMMEND, diameter=None, pitch=None, top_speed=97 * MPH))
    assert wished.specification.diameter == pytest.approx(72 * INCH, rel=0.06)
    assert wished.specification.pitch == pytest.approx(43 * INCH, abs=4 * INCH)
    assert {r.character.value for r in wished.recommendations} == {"climb", "standard", "cruise"}


def test_a_recommendation_keeps_clear_of_ground_and_structure():
    low = assess(specification(wish=Wish.ENGINE_ONLY, diameter=None, pitch=None, hub_height=43 * INCH))
    assert low.specification.diameter <= 68 * INCH + 1e-9
    tight = assess(specification(wish=Wish.ENGINE_ONLY, diameter=None, pitch=None, free_radius=34 * INCH))
    assert tight.specification.diameter <= 66 * INCH + 1e-9


def test_a_wished_diameter_is_kept_when_only_the_pitch_is_asked_for():
    wished = assess(specification(wish=Wish.RECOMMEND, diameter=70 * INCH, pitch=None))
    assert wished.specification.diameter == 70 * INCH
    assert 0.4 < wished.specification.pitch / wished.specification.diameter < 0.8


def test_measures_agree_with_the_parts_they_come_from():
    m = SOUND.measures
    assert m.wood_removed == pytest.approx(m.blank_volume - m.finished_volume)
    assert m.board_feet == SOUND.lamination.board_feet_stepped
    assert m.mass == SOUND.mass.total > SOUND.mass.wood
    assert m.bolt_holes == m.lug_counterbores == 6
    assert m.crate_length > m.diameter


def test_finished_wood_is_about_a_sixth_of_the_blank():
    assert 0.14 < SOUND.measures.finished_volume / SOUND.measures.blank_volume < 0.20


def test_the_other_hand_has_the_same_figures():
    left = assess(specification(hand=Hand.LEFT))
    assert left.measures == SOUND.measures
    assert left.performance.static.rpm == pytest.approx(SOUND.performance.static.rpm)


def test_a_guard_is_as_long_as_the_edge_it_covers_and_weighs():
    guarded = assess(specification(guard=brass_guard()))
    assert guarded.measures.guard_length == pytest.approx(2 * 0.35 * 36 * INCH, rel=0.1)
    assert guarded.mass.guard == pytest.approx(0.35 * guarded.measures.guard_length)
    assert guarded.mass.inertia > SOUND.mass.inertia


@pytest.mark.parametrize("blades", [2, 3, 4])
@pytest.mark.parametrize("form", TipForm)
def test_every_tip_form_and_blade_count_is_assessed(blades, form):
    done = assess(specification(blades=blades, tip_form=form, diameter=66 * INCH, pitch=40 * INCH))
    assert done.can_be_made
    assert 1 < done.measures.mass < 12
    assert done.measures.crate_width > done.measures.boss_diameter


# 912 and 914 installation manuals: at most 500 g mm whatever the mass
def test_the_unbalance_that_may_stay_goes_with_mass_speed_and_the_engine():
    assert SOUND.balance.unbalance * 1e6 == pytest.approx(
        6300 * SOUND.mass.total / (2 * 3.14159 * 2300 / 60), rel=1e-4
    )
    geared = assess(specification(engine=engine_geared(), hub=metric_80(), top_speed=110 * MPH))
    assert geared.balance.by_engine == 0.0005


def test_without_a_rating_there_is_geometry_but_no_performance():
    silent = assess(specification(engine=engine_65(rated_power=None)))
    assert silent.measures is not None
    assert silent.performance is None
    assert silent.strength is None


def test_without_engine_and_size_the_engine_is_asked_for():
    assert stopped_at(assess(specification(engine=None, wish=Wish.RECOMMEND, diameter=None, pitch=None))) == {
        "engine"
    }
    slow = specification(airframe=None, wish=Wish.RECOMMEND, diameter=None, pitch=None)
    assert stopped_at(assess(slow)) == {"top_speed"}


def test_a_copy_needs_its_diameter_and_pitch():
    assert stopped_at(assess(specification(wish=Wish.COPY, diameter=None, pitch=None))) == {
        "diameter",
        "pitch",
    }


BAD = [
    ({"pitch": 3 * INCH, "diameter": 90 * INCH}, "pitch"),
    ({"boss_diameter": 14 * INCH}, "boss_diameter"),
    ({"blades": 7}, "blades"),
    ({"blades": 0}, "blades"),
    ({"engine": engine_65(rated_speed=published(0.0, ""))}, "engine"),
    ({"engine": engine_65(rated_power=published(float("nan"), ""))}, "engine"),
    ({"engine": engine_65(gear_ratio=published(1e9, ""))}, "engine"),
    ({"engine": engine_65(rated_power=published(1e11, ""))}, "engine"),
    ({"top_speed": 30 * MPH, "cruise_speed": 28 * MPH}, "top_speed"),
    ({"top_speed": 80 * MPH, "cruise_speed": 90 * MPH}, "cruise_speed"),
    ({"airframe": airframe(top_speed=published(1.0, ""), cruise_speed=None)}, "top_speed"),
    ({"hub": sae1(circle=published(1.0, ""))}, "hub"),
    ({"hub": sae1(pilot=published(0.110, ""))}, "hub"),
    ({"hub": sae1(bolts=0)}, "hub"),
    ({"hub": blank_boss()}, "hub"),
    ({"hub": sae1(bolts=0), "use": Use.DISPLAY}, "hub"),
    ({"hub": sae1(bolts=1)}, "hub"),
    ({"hardware": Hardware(spacer_thickness=float("inf"))}, "hardware"),
    ({"quantity": 0}, "quantity"),
    ({"hub": sae1(bolt=published(0.5 * INCH, ""))}, "hub"),
    ({"hub": sae1(circle=None, pilot=published(0.2, ""))}, "hub"),
    ({"decal": Decal("Invented", blade_station=float("nan"))}, "decal"),
    ({"finish": replace(varnish(), coats=-1)}, "finish"),
    ({"finish": replace(varnish(), spread=published(0.0, ""))}, "finish"),
]


@pytest.mark.parametrize(("changes", "field"), BAD)
def test_what_cannot_be_computed_is_a_stop_at_its_field(changes, field):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        refused = assess(specification(**changes))
    assert field in stopped_at(refused)
    assert refused.measures is None
    assert not refused.can_be_made


@pytest.mark.parametrize("name", RANGES)
@pytest.mark.parametrize("value", [float("nan"), float("inf"), -1e9, 1e9])
def test_no_number_out_of_range_passes_any_field(name, value):
    (finding,) = validate(replace(specification(), **{name: value}))
    assert finding.field == name
    assert "accepted are" in finding.message
    assert "nan" not in finding.message
    assert finding.figure is None or finding.figure == finding.figure


NUMBERS = {name: st.floats(low, high) for name, (low, high, _, _) in RANGES.items()}


@given(
    st.fixed_dictionaries({}, optional=NUMBERS), st.sampled_from([2, 3, 4]), st.sampled_from(list(TipForm))
)
@settings(max_examples=60, deadline=None)
def test_whatever_is_in_range_is_answered_without_a_warning(changes, blades, form):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        done = assess(specification(blades=blades, tip_form=form, **changes))
    assert done.findings
    if done.measures is not None:
        values = [getattr(done.measures, part.name) for part in fields(done.measures)]
        assert all(0 <= value < 1e3 for value in values)
    else:
        assert stopped_at(done)


def test_an_unsure_bolt_circle_stops_no_boss():
    unsure = sae1(circle=Figure(4.0 * INCH, Trust.UNSURE, "SAE 1 or 4 in, unsure"))
    assert assess(specification(hub=unsure, boss_diameter=0.100)).can_be_made
    assert not assess(specification(boss_diameter=0.100)).can_be_made


def test_a_metric_hub_on_a_small_boss_is_assessed():
    assert assess(specification(hub=metric_80())).boss.diameter == pytest.approx(0.130)


def test_assessing_loads_no_framework_and_no_heavy_library():
    heavy = ("django", "trimesh", "ezdxf", "numba", "matplotlib", "celery")
    code = f"import sys, quoting.propeller.assessment; print([m for m in {heavy!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
