"""What the checks say of boss, bolts, pilot, lugs and the torque they carry, and no more than their figures allow."""

import pytest

from quoting.propeller.assessment import assess
from quoting.propeller.checks.words import apart, length_apart
from quoting.propeller.figure import Figure, Trust
from quoting.propeller.finding import Severity
from quoting.propeller.specification import Hardware
from tests.quoting.found import found, only
from tests.quoting.samples import (
    HORSEPOWER,
    INCH,
    MPH,
    birch,
    engine_65,
    engine_geared,
    mahogany,
    metric_80,
    published,
    sae1,
    sae2,
    specification,
)


def test_the_metal_boss_leaves_too_little_edge_wood():
    plain = sae1(lug_diameter=None)
    assert found("edge-wood", hub=plain, boss_diameter=5.25 * INCH) == [Severity.CAUTION]
    assert found("edge-wood", hub=plain, boss_diameter=6 * INCH) == []
    lugged = sae1(lug_diameter=published(0.625 * INCH, "a drawing"))
    assert found("edge-wood", hub=lugged, boss_diameter=4.9 * INCH) == [Severity.STOP]
    assert found("edge-wood", boss_diameter=4.9 * INCH) == [Severity.CAUTION]  # the lug is from memory


def test_a_figure_marked_unsure_is_not_checked_rather_than_passed():
    doubtful = sae1(circle=Figure(4.0 * INCH, Trust.UNSURE, "a forum"))
    assert found("edge-wood", hub=doubtful) == [Severity.NOT_CHECKED]
    assert found("torque-transfer", hub=sae1(bolt=Figure(0.0095, Trust.UNSURE, ""))) == [Severity.NOT_CHECKED]
    engine = engine_65(rated_power=Figure(65 * HORSEPOWER, Trust.UNSURE, "a forum"))
    assert found("static-rpm", engine=engine) == [Severity.NOT_CHECKED]
    wood = birch(modulus_of_rupture=Figure(114e6, Trust.UNSURE, "a forum"))
    assert found("stress", timber=wood) == [Severity.NOT_CHECKED]
    assert found("stress-tension", timber=wood) == []


def test_pilot_and_lugs_of_unknown_depth_are_not_checked_and_too_deep_ones_cautioned():
    assert found("pilot-depth") == []
    assert "right through" in only("pilot-depth").message
    assert found("pilot-depth", hub=sae1(pilot_depth=published(0.010, ""))) == []
    assert found("pilot-depth", hub=sae1(pilot_depth=published(0.060, ""))) == [Severity.CAUTION]
    assert found("lug-depth", hub=sae1(lug_depth=None)) == [Severity.NOT_CHECKED]
    assert found("lug-depth", hub=sae1(lug_depth=published(0.110, "a drawing"))) == [Severity.STOP]


def test_a_face_plate_must_cover_the_bolt_holes():
    small = sae1(plate_diameter=published(4.5 * INCH, "a drawing"))
    assert found("face-plate", hub=small) == [Severity.STOP]
    assert found("face-plate") == []


def test_bolts_that_do_not_divide_by_the_blades_are_said():
    assert "differently to each blade" in only("clocking", blades=4).message
    assert "differently" not in only("clocking", blades=3).message


def test_short_bolts_are_stopped_and_long_ones_cautioned():
    def bolts(inches):
        return {"hardware": Hardware(bolt_length=inches * INCH)}

    assert found("bolt-length", **bolts(3.9)) == [Severity.STOP]
    assert found("bolt-length", **bolts(4.3)) == [Severity.CAUTION]
    assert found("bolt-length", **bolts(4.8)) == []
    assert found("bolt-length", **bolts(7.0)) == [Severity.CAUTION]


def test_look_alike_circles_are_told_apart():
    inch = only("look-alike-circle", hub=sae2())
    assert inch.severity is Severity.CAUTION
    assert "120 mm" in inch.message
    metric = sae2(circle=published(0.120, "handbook of 1921"))
    assert "4-3/4 in" in only("look-alike-circle", hub=metric).message
    between = only("look-alike-circle", hub=sae2(circle=published(0.1203, "measured")))
    assert between.severity is Severity.CAUTION
    assert "between 4-3/4 in (120.65 mm) and 120 mm" in between.message
    assert found("look-alike-circle", hub=sae2(circle=published(0.115, "measured"))) == []


def test_a_small_spinner_does_not_go_over_the_boss():
    assert found("spinner", hardware=Hardware(spinner_diameter=5 * INCH)) == [Severity.CAUTION]
    assert found("spinner", hardware=Hardware(spinner_diameter=9 * INCH)) == []


def test_an_incomplete_pattern_is_quoted_with_a_caution():
    hub = sae1(circle=None)
    assert found("hub-incomplete", hub=hub) == [Severity.CAUTION]
    assert found("edge-wood", hub=hub) == [Severity.NOT_CHECKED]
    assert assess(specification(hub=hub)).measures.bolt_holes == 6


def test_a_strong_engine_on_small_bolts_needs_drive_lugs():
    strong = engine_65(rated_power=published(180 * HORSEPOWER, ""), rated_speed=published(2000 / 60, ""))
    assert found("torque-transfer", engine=strong) == [Severity.CAUTION]
    assert found("torque-transfer") == []


def test_the_torque_told_is_one_that_plated_bolts_bear():
    told = only("bolt-torque")
    # F = T/(K d) with K 0.15: six such bolts on the smaller face stay under birch's 6.7 MPa
    shape = assess(specification()).boss
    most = 0.15 * shape.bolt * 6.7e6 * shape.flange_area / 6
    assert told.limit == pytest.approx(most)
    assert told.figure < told.limit
    assert "AN bolts" in told.message


def test_a_usual_torque_is_told_as_usual_and_not_checked_where_the_wood_is_not_published():
    told = only("bolt-torque", timber=mahogany())
    assert told.severity is Severity.NOT_CHECKED
    assert "From the wood" not in told.message
    assert (told.figure, told.limit) == (None, None)
    assert found("torque-transfer", timber=mahogany()) != []


def test_a_flange_of_unknown_size_leaves_its_face_unchecked():
    plain = sae1(flange_diameter=None)
    assert found("clamp-crushing-flange", hub=plain) == [Severity.NOT_CHECKED]
    assert found("clamp-crushing-flange") == []


# sugar maple 10.1, black cherry 4.8 MPa (Wood Handbook, table 5-3a)
def test_maple_bears_dry_torque_on_plated_bolts_and_cherry_not_even_the_least_usual():
    assert found("clamp-lubricated", timber=birch(compression_perpendicular=published(10.1e6, ""))) == []
    cherry = birch(compression_perpendicular=published(4.8e6, ""))
    assert found("clamp-crushing", timber=cherry) == [Severity.CAUTION]
    enough = birch(compression_perpendicular=published(6.3e6, ""))
    low, dry = 20.0, assess(specification(timber=enough)).joint
    assert dry.torque_recommended < low < dry.torque_maximum_dry
    assert found("clamp-crushing", timber=enough) == []


def test_drive_lugs_may_carry_what_friction_lacks_while_the_wood_bears_it():
    shaken = engine_65(cylinders=3)
    finding = only("torque-transfer", engine=shaken)
    assert finding.figure < finding.limit
    assert finding.severity is Severity.NOTE
    assert "drive lugs carry the rest" in finding.message
    assert found("torque-transfer", engine=engine_65(cylinders=1)) == [Severity.CAUTION]


def test_the_engines_torque_is_said_on_a_gearbox_whether_within_or_over_or_unknown():
    geared = {"hub": metric_80(), "top_speed": 110 * MPH, "diameter": 68 * INCH, "pitch": 52 * INCH}
    within = only("engine-torque", engine=engine_geared(), **geared)
    assert within.severity is Severity.NOTE
    over = engine_geared(torque_limit=published(within.figure / 1.03, "a manual"))
    assert found("engine-torque", engine=over, **geared) == [Severity.CAUTION]
    assert found("engine-torque", engine=engine_geared(torque_limit=None), **geared) == [Severity.NOT_CHECKED]
    assert not [f for f in assess(specification()).findings if f.code == "engine-torque"]


def test_arms_that_hang_on_lapped_joints_are_not_checked():
    assert found("hub-lap") == []
    assert found("hub-lap", blades=3) == found("hub-lap", blades=4) == [Severity.NOT_CHECKED]


def test_four_blades_may_weigh_more_than_two():
    assert found("mass", blades=4, diameter=66 * INCH, pitch=42 * INCH) == []


def test_a_figure_just_past_its_limit_never_reads_like_it():
    assert (apart(3.46, 3.5, 1), apart(0.852, 0.85, 2), apart(2.9, 3.5, 1)) == ("3.46", "0.852", "2.9")
    assert length_apart(8.98 * INCH, 9 * INCH, "in") == "8.98 in"
    assert length_apart(0.2298, 0.2300, "mm") == "229.8 mm"


def test_the_bolt_torque_always_defers_to_approved_data():
    note = only("bolt-torque")
    assert "approved data" in note.message
    assert "K 0.20" in note.message
    assert "K 0.15" in note.message
