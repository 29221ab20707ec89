"""What the checks say of timber, glue, finish, boards, mass and inertia, and no more than their figures allow."""

from dataclasses import replace

from quoting.propeller.assessment import assess
from quoting.propeller.finding import Severity
from quoting.propeller.specification import Use
from tests.quoting.found import found, only
from tests.quoting.samples import (
    INCH,
    MPH,
    birch,
    engine_geared,
    mahogany,
    metric_80,
    poplar,
    published,
    remembered,
    resorcinol,
    specification,
    varnish,
)


def test_soft_wood_is_not_for_flying():
    assert found("timber-unsuitable", timber=poplar()) == [Severity.CAUTION]
    assert found("clamp-crushing", timber=poplar()) == [Severity.CAUTION]
    finding = only("timber-unsuitable", timber=poplar())
    assert finding.figure == 3.4e6 < finding.limit


def test_a_wood_as_soft_as_spruce_is_cautioned_even_where_the_catalogue_lets_it_fly():
    spruce = birch(compression_perpendicular=published(4.0e6, "Wood Handbook, Table 5-3a"))
    assert found("timber-unsuitable", timber=spruce) == [Severity.CAUTION]
    assert found("timber-unsuitable") == []
    doubted = birch(compression_perpendicular=None, suitable_for_flight=False)
    assert only("timber-unsuitable", timber=doubted).figure is None


def test_unpublished_strength_across_the_grain_is_not_checked():
    assert found("clamp-crushing", timber=mahogany()) == [Severity.NOT_CHECKED]


def test_weak_wood_breaks_by_its_published_strength_and_is_stopped():
    weak = birch(modulus_of_rupture=published(20e6, "a handbook"))
    assert Severity.STOP in found("stress-tension", timber=weak)
    doubtful = birch(modulus_of_rupture=remembered(20e6))
    assert set(found("stress-tension", timber=doubtful)) == {Severity.CAUTION}


def test_wet_wood_and_a_dry_climate_are_cautioned():
    assert found("moisture-strength", moisture=17.0) == [Severity.CAUTION]
    assert found("moisture-climate", climate_humidity=0.25) == [Severity.CAUTION]
    assert found("moisture-climate") == []


def test_few_thick_boards_are_cautioned():
    assert found("too-few-layers", lamination_thickness=0.035) == [Severity.CAUTION]


def test_inertia_without_a_limit_is_not_checked_on_a_gearbox_and_noted_without():
    geared = {"engine": engine_geared(inertia_limit=None), "hub": metric_80(), "top_speed": 110 * MPH}
    assert found("inertia", diameter=68 * INCH, pitch=52 * INCH, **geared) == [Severity.NOT_CHECKED]
    assert only("inertia").severity is Severity.NOTE


# 912 series installation manual: inertia at most 6000 kg cm2
def test_inertia_is_held_against_the_engine_makers_limit():
    geared = {"engine": engine_geared(), "hub": metric_80(), "top_speed": 110 * MPH}
    assert found("inertia", diameter=68 * INCH, pitch=52 * INCH, **geared) == []
    heavy = only("inertia", diameter=84 * INCH, pitch=60 * INCH, **geared)
    assert heavy.severity is Severity.STOP
    assert heavy.limit == 0.60


def test_the_worst_station_is_named_with_its_factor():
    (note, *_) = (f for f in assess(specification()).findings if f.code == "stress-tension")
    assert "of the radius" in note.message
    assert note.figure > note.limit == 3.5


def test_a_heavy_propeller_is_cautioned():
    dense = birch(density=published(1300, ""))
    assert found("mass", timber=dense) == [Severity.CAUTION]


def test_display_glue_and_finish_are_cautioned_on_a_propeller_that_flies_and_name_what_would_do():
    casein = replace(resorcinol(), name="Casein", suitable_for_flight=False)
    shellac = replace(varnish(), name="Shellac", suitable_for_flight=False)
    assert found("glue-unsuitable", glue=casein) == [Severity.CAUTION]
    assert "resorcinol" in only("glue-unsuitable", glue=casein).message
    assert found("finish-unsuitable", finish=shellac) == [Severity.CAUTION]
    assert only("finish-unsuitable", finish=shellac).field == "finish"
    assert found("glue-unsuitable", glue=casein, use=Use.DISPLAY) == []
    assert found("glue-unsuitable") == found("finish-unsuitable") == []


def test_a_wood_not_flown_comes_before_other_cautions_and_names_woods_that_are():
    cautions = [f for f in assess(specification(timber=poplar())).findings if f.severity is Severity.CAUTION]
    assert cautions[0].code == "timber-unsuitable"
    assert "yellow birch" in cautions[0].message
