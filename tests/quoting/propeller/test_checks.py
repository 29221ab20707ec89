"""Each check says what it should, and no more than its figures allow: tips, clearance, running, papers."""

import pytest

from quoting.propeller.assessment import assess
from quoting.propeller.catalogue import Category, Gear, Hand, Position, Rotation
from quoting.propeller.checks.standing import hand_of, turning_hand
from quoting.propeller.figure import Figure, Trust
from quoting.propeller.finding import Severity
from tests.quoting.found import found, only
from tests.quoting.samples import (
    HORSEPOWER,
    INCH,
    MPH,
    airframe,
    engine_65,
    engine_geared,
    mahogany,
    metric_80,
    published,
    remembered,
    sae2,
    specification,
)


def test_a_sound_propeller_raises_nothing_but_what_was_not_told():
    findings = assess(specification()).findings
    told = {f.code: f.severity for f in findings if f.severity.rank > Severity.NOTE.rank}
    # birch under plated bolts is crushed by the torque of dry ones: every wood but maple is
    assert told == {"structure-clearance": Severity.NOT_CHECKED, "clamp-lubricated": Severity.CAUTION}


@pytest.mark.parametrize(
    "code",
    [
        "tip-mach",
        "static-rpm",
        "over-rev-level",
        "ground-clearance",
        "edge-wood",
        "clamp-crushing",
        "torque-transfer",
    ],
)
def test_a_passed_check_shows_its_figure_and_limit(code):
    finding = only(code)
    assert finding.severity is Severity.NOTE
    assert finding.field == ""
    assert finding.figure is not None
    assert finding.limit is not None


def test_every_finding_has_a_sentence_and_a_source():
    changes = {"timber": mahogany(), "hub": sae2(), "hub_height": None, "blades": 3, "diameter": 96 * INCH}
    for finding in assess(specification(**changes)).findings:
        assert finding.message[0].isupper() or finding.message[0].isdigit()
        assert finding.message.endswith(".")
        assert finding.source


# -- tip speed


def test_fast_tips_are_cautioned_and_supersonic_ones_stopped():
    fast = engine_65(rated_power=published(260 * HORSEPOWER, ""), rated_speed=published(2900 / 60, ""))
    assert found("tip-mach", engine=fast, diameter=78 * INCH, pitch=50 * INCH, top_speed=120 * MPH) == [
        Severity.CAUTION
    ]
    faster = engine_65(rated_power=published(800 * HORSEPOWER, ""), rated_speed=published(4400 / 60, ""))
    assert found("tip-mach", engine=faster, diameter=76 * INCH, pitch=40 * INCH) == [Severity.STOP]


def test_a_wish_for_quiet_lowers_the_tip_mach_allowed():
    engine = engine_65(rated_power=published(140 * HORSEPOWER, ""), rated_speed=published(2750 / 60, ""))
    changes = {"engine": engine, "diameter": 74 * INCH, "pitch": 48 * INCH, "top_speed": 130 * MPH}
    assert found("tip-mach", **changes) == []
    assert found("tip-mach", quiet=True, **changes) == [Severity.CAUTION]


# -- clearance: 14 CFR 23.925 as it stood before 2017: 9 in tail wheel, 7 in nose wheel


def test_nine_inches_are_asked_for_with_a_tail_wheel():
    assert found("ground-clearance", hub_height=45 * INCH) == []
    assert found("ground-clearance", hub_height=44.5 * INCH) == [Severity.CAUTION]


def test_a_nose_wheel_needs_two_inches_less():
    frame = airframe(gear=Gear.NOSE_WHEEL)
    assert found("ground-clearance", hub_height=43.2 * INCH, airframe=frame) == []
    assert found("ground-clearance", hub_height=42.8 * INCH, airframe=frame) == [Severity.CAUTION]


def test_a_propeller_that_strikes_the_ground_is_stopped():
    assert found("ground-clearance", hub_height=35 * INCH) == [Severity.STOP]


def test_a_remembered_shaft_height_only_cautions():
    frame = airframe(hub_height=remembered(35 * INCH))
    assert found("ground-clearance", hub_height=None, airframe=frame) == [Severity.CAUTION]


# 14 CFR 23.925(b) as it stood before 2017: an aft propeller must clear the runway at the greatest pitch attitude
def test_a_pusher_is_never_passed_on_its_clearance_with_the_aeroplane_level():
    pusher = {"position": Position.PUSHER, "hand": Hand.LEFT}
    frame = airframe(position=Position.PUSHER, gear=Gear.NOSE_WHEEL)
    high = only("ground-clearance", hub_height=60 * INCH, airframe=frame, **pusher)
    assert high.severity is Severity.NOT_CHECKED
    assert "greatest pitch attitude" in high.message
    low = only("ground-clearance", hub_height=42 * INCH, airframe=frame, **pusher)
    assert low.severity is Severity.CAUTION
    assert "greatest pitch attitude" in low.message
    assert (
        "greatest pitch attitude"
        in only("ground-clearance", hub_height=None, airframe=frame, **pusher).message
    )
    assert found("ground-clearance", hub_height=35 * INCH, airframe=frame, **pusher) == [Severity.STOP]


def test_more_than_is_usual_on_the_airframe_is_cautioned_and_not_checked_where_that_is_unsure():
    frame = airframe(usual_diameter_low=remembered(70 * INCH), usual_diameter_high=remembered(70 * INCH))
    finding = only("usual-diameter", airframe=frame)
    assert finding.severity is Severity.CAUTION
    assert "70 in" in finding.message
    unsure = Figure(70 * INCH, Trust.UNSURE, "from memory, unsure")
    doubtful = airframe(usual_diameter_low=unsure, usual_diameter_high=unsure)
    assert found("usual-diameter", airframe=doubtful) == [Severity.NOT_CHECKED]
    wide = airframe(usual_diameter_low=remembered(70 * INCH), usual_diameter_high=remembered(74 * INCH))
    assert found("usual-diameter", airframe=wide) == []


def test_without_a_shaft_height_clearance_is_not_checked():
    assert found("ground-clearance", hub_height=None) == [Severity.NOT_CHECKED]


def test_the_structure_needs_an_inch():
    assert found("structure-clearance", free_radius=37.1 * INCH) == []
    assert found("structure-clearance", free_radius=36.5 * INCH) == [Severity.CAUTION]
    assert found("structure-clearance", free_radius=35 * INCH) == [Severity.STOP]


def test_a_published_largest_diameter_stops_and_a_remembered_one_cautions():
    assert found("diameter-limit", airframe=airframe(diameter_max=published(70 * INCH, ""))) == [
        Severity.STOP
    ]
    assert found("diameter-limit", airframe=airframe(diameter_max=remembered(70 * INCH))) == [
        Severity.CAUTION
    ]
    assert found("diameter-limit", airframe=airframe(diameter_min=published(72 * INCH, ""))) == []


def test_a_metal_propellers_limits_caution_a_wooden_one_but_never_stop_it():
    metal = published(70 * INCH, "a type certificate, metal propeller")
    assert found("diameter-limit", airframe=airframe(diameter_max=metal)) == [Severity.CAUTION]
    assert "metal propeller's limit" in only("diameter-limit", airframe=airframe(diameter_max=metal)).message
    low, high = (published(rpm / 60, "a type certificate, metal propeller") for rpm in (1700, 1800))
    frame = airframe(static_speed_min=low, static_speed_max=high)
    assert found("static-band", airframe=frame) == [Severity.CAUTION]


# -- running


def test_too_little_pitch_lets_the_engine_over_rev():
    finding = only("static-rpm", diameter=60 * INCH, pitch=30 * INCH)
    assert finding.severity is Severity.STOP
    assert finding.figure > finding.limit == pytest.approx(2300)
    assert found("over-rev-level", diameter=60 * INCH, pitch=30 * INCH) == [Severity.STOP]


TOO_FINE = {"diameter": 66 * INCH, "pitch": 44 * INCH}


@pytest.mark.parametrize("altitude", [0.0, 2000.0, 6000.0])
def test_a_height_of_flight_hides_nothing_that_holds_at_sea_level(altitude):
    finding = only("static-rpm", altitude=altitude, **TOO_FINE)
    assert finding.severity is Severity.STOP
    assert finding.figure == pytest.approx(only("static-rpm", **TOO_FINE).figure)
    stressed = [
        f.figure for f in assess(specification(altitude=altitude)).findings if f.code == "stress-tension"
    ]
    assert stressed == [f.figure for f in assess(specification()).findings if f.code == "stress-tension"]


def test_tips_are_judged_at_the_faster_of_sea_level_and_height():
    high, low = only("tip-mach", altitude=3000.0), only("tip-mach")
    assert high.figure > low.figure
    assert only("checked-at-sea-level", altitude=3000.0).severity is Severity.NOTE
    assert not [f for f in assess(specification()).findings if f.code == "checked-at-sea-level"]


def test_standing_and_climbing_are_held_against_the_take_off_rpm_where_there_is_one():
    fine = {"diameter": 68 * INCH, "pitch": 43 * INCH}
    assert found("static-rpm", **fine) != []
    engine = engine_65(takeoff_speed=remembered(2500 / 60))
    finding = only("static-rpm", engine=engine, **fine)
    assert finding.severity is Severity.NOTE
    assert finding.limit == pytest.approx(2500)
    over = only("static-rpm", engine=engine, diameter=58 * INCH, pitch=30 * INCH)
    assert over.severity is Severity.CAUTION  # the take-off rpm is from memory


def test_a_remembered_rating_never_stops():
    engine = engine_65(rated_power=remembered(65 * HORSEPOWER), rated_speed=remembered(2300 / 60))
    assert found("static-rpm", diameter=60 * INCH, pitch=30 * INCH, engine=engine) == [Severity.CAUTION]


def test_too_much_propeller_starves_the_engine():
    large = {"diameter": 80 * INCH, "pitch": 54 * INCH, "hub_height": 60 * INCH}
    assert found("power-mismatch", **large) == [Severity.CAUTION]
    assert found("static-rpm", **large) == [Severity.CAUTION]


def test_an_engine_that_cannot_turn_up_its_propeller_is_stopped():
    large = {"diameter": 110 * INCH, "pitch": 66 * INCH, "hub_height": 90 * INCH}
    assert found("static-rpm", **large) == [Severity.STOP]
    finding = only("static-rpm", **large)
    assert finding.figure < finding.limit == pytest.approx(0.65 * 2300)
    remembered_engine = engine_65(rated_power=remembered(65 * HORSEPOWER))
    assert found("static-rpm", engine=remembered_engine, **large) == [Severity.CAUTION]


WEAK = engine_65(rated_power=published(4 * HORSEPOWER, "a test"), rated_speed=published(6500 / 60, "a test"))


def test_engine_and_propeller_that_never_meet_keep_the_geometry_and_say_by_how_much():
    done = assess(specification(engine=WEAK, airframe=None, diameter=90 * INCH, pitch=60 * INCH))
    stops = [f for f in done.findings if f.severity is Severity.STOP]
    assert [(f.code, f.unit) for f in stops] == [("power-mismatch", "W")]
    assert stops[0].figure > 10 * stops[0].limit
    assert done.mass.total > 3
    assert done.blade.diameter == pytest.approx(90 * INCH)
    unchecked = {f.code for f in done.findings if f.severity is Severity.NOT_CHECKED}
    assert unchecked >= {"tip-mach", "static-rpm", "over-rev-level", "stress"}


def test_tips_past_the_speed_of_sound_keep_the_geometry_too():
    strong = engine_65(rated_power=published(900 * HORSEPOWER, "a test"), rated_speed=published(80, "a test"))
    done = assess(specification(engine=strong))
    stops = [f for f in done.findings if f.severity is Severity.STOP and f.code == "tip-mach"]
    assert len(stops) == 1
    assert stops[0].figure > stops[0].limit == 1.0
    assert done.measures.mass > 3


# quoted limits of a 65 hp high-wing monoplane, wood: 1860 to 2165 static rpm (type certificate A-720)
def test_static_rpm_is_held_against_the_airframes_own_band():
    frame = airframe(
        static_speed_min=published(1860 / 60, "A-720"), static_speed_max=published(2165 / 60, "A-720")
    )
    assert found("static-band", airframe=frame) == []
    assert found("static-band", airframe=frame, diameter=66 * INCH, pitch=40 * INCH) == [Severity.STOP]
    other = airframe(
        static_speed_min=remembered(31), static_speed_max=remembered(32), usual_engine_codes=("other",)
    )
    assert found("static-band", airframe=other) == []


def test_without_a_rating_nothing_about_running_is_passed():
    findings = assess(specification(engine=engine_65(rated_power=None))).findings
    codes = {f.code for f in findings if f.severity is Severity.NOT_CHECKED}
    assert codes >= {"tip-mach", "static-rpm", "stress", "torque-transfer"}


# -- papers and sense


def test_a_certificated_or_unknown_aircraft_is_told_to_ask_first():
    for category in (Category.TYPE_CERTIFICATED, Category.UNKNOWN):
        finding = only("registration", category=category)
        assert finding.severity is Severity.CAUTION
        assert "approved data" in finding.message
        assert "inspector or a licensed mechanic" in finding.message
    assert only("registration").severity is Severity.NOTE


# facing a tractor's flange one looks aft: anticlockwise there is clockwise from the cockpit, a right-hand propeller;
# a pusher reverses the hand for the same rotation
def test_the_hand_follows_rotation_and_position():
    assert turning_hand(Rotation.ANTICLOCKWISE, Position.TRACTOR) is Hand.RIGHT
    assert turning_hand(Rotation.CLOCKWISE, Position.TRACTOR) is Hand.LEFT
    assert turning_hand(Rotation.ANTICLOCKWISE, Position.PUSHER) is Hand.LEFT
    assert hand_of(engine_65(rotation=None), Position.PUSHER) is Hand.LEFT


def test_the_wrong_hand_is_stopped_where_the_rotation_is_published():
    assert found("hand", engine=engine_geared(), hub=metric_80(), hand=Hand.LEFT) == [Severity.STOP]
    assert found("hand", hand=Hand.LEFT) == [Severity.CAUTION]
    assert found("hand", engine=engine_65(hand_source="unsure"), hand=Hand.LEFT) == [Severity.NOT_CHECKED]


def test_a_pusher_needs_the_other_hand_for_the_same_engine():
    pusher = {"position": Position.PUSHER, "airframe": airframe(position=Position.PUSHER)}
    assert found("hand", hand=Hand.LEFT, **pusher) == []
    assert found("hand", hand=Hand.RIGHT, **pusher) == [Severity.CAUTION]


def test_a_pattern_the_engine_does_not_have_is_cautioned():
    assert found("hub-of-engine", hub=sae2()) == [Severity.CAUTION]


def test_an_engine_not_usual_for_the_airframe_is_cautioned_by_the_names_of_the_usual_ones():
    frame = airframe(usual_engine_names=("Continental A-65-8F",))
    radial = engine_65(code="lycoming-r-680", name="Lycoming R-680")
    finding = only("engine-of-airframe", engine=radial, airframe=frame)
    assert finding.severity is Severity.CAUTION
    assert "Continental A-65-8F" in finding.message
    assert "top speed" in finding.message
    assert "top speed" not in only("engine-of-airframe", engine=radial, top_speed=87 * MPH).message
    assert found("engine-of-airframe", airframe=frame) == []
    assert found("engine-of-airframe", engine=radial, airframe=airframe(usual_engine_codes=())) == []


def test_what_the_catalogue_remarks_on_an_airframe_is_said():
    assert "72 x 44" in only("airframe-remark", airframe=airframe(remark="Wood 72 x 44.")).message


def test_sizes_outside_experience_are_cautioned():
    slow = engine_65(rated_power=published(90 * HORSEPOWER, ""), rated_speed=published(1100 / 60, ""))
    large = {"engine": slow, "diameter": 114 * INCH, "pitch": 80 * INCH, "hub_height": 80 * INCH}
    assert found("diameter-experience", **large) == [Severity.CAUTION]
    assert found("pitch-experience", diameter=72 * INCH, pitch=26 * INCH) == [Severity.CAUTION]
