"""What is typed on the ask page: read strictly, refused at the field, and made into a full specification."""

from dataclasses import replace

import pytest

from quoting.propeller.assessment import assess
from quoting.propeller.catalogue import Category, Hand, Position
from quoting.propeller.figure import Trust
from quoting.propeller.finding import Severity
from quoting.propeller.specification import Specification, Use, Wish
from quoting.services.asked import asked
from quoting.services.catalogue import Catalogue
from quoting.services.reading import MISSING
from quoting.services.serial import structured, unstructured
from quoting.services.written import figure_of, in_other_unit
from tests.quoting.books import catalogue_of_files

INCH = 0.0254

SOUND = {
    "use": "flight",
    "airframe": "piper-j-3c-65",
    "engine": "continental-a65-8f",
    "hub": "sae-1",
    "wish": "known",
    "diameter": "72",
    "pitch": "44",
    "timber": "yellow-birch",
}

NUMBERS = (
    "top_speed cruise_speed hub_height free_radius power engine_rpm gear_ratio blades bolts circle hole pilot"
    " lug_diameter lug_depth"
    " diameter pitch pitch_station boss_diameter boss_thickness clocking quantity lamination_thickness decal_station"
    " face_plate_thickness spacer_thickness spinner_diameter bolt_length altitude moisture humidity temperature"
).split()
CHOICES = (
    "use category rotation airframe gear position speed_unit engine power_unit hand hub wish timber glue finish"
    " guard tip_form"
    " altitude_unit length_unit delivery country"
).split()
FLAGS = "quiet stepped_laminations decal_both bolts_ordered rush".split()
TEXTS = "airframe_name engine_name decal_text".split()

NOT_NUMBERS = {
    "exponent": "1e9",
    "huge": "1000000000",
    "not a number": "NaN",
    "infinite": "Infinity",
    "negative": "-72",
    "Arabic digits": "٧٢",
    "full-width digits": "７２",
    "superscript": "7²",
    "emoji": "😀",
    "words": "seventy two",
    "hexadecimal": "0x48",
    "underscore": "7_2",
    "two commas": "7,2,0",
    "divided by nothing": "1/0",
    "unit of something else": "72 kg",
    "long": "7" * 10_000,
    "long and blank": "7" + " " * 5_000 + "2",
    "nothing": "\x00",
    "a list": ["7", "2x"],
    "a mapping": {"a": 1},
    "a float that is none": float("nan"),
    "a float beyond all": 1e300,
}


@pytest.fixture
def listed() -> Catalogue:
    return catalogue_of_files()


def refused_fields(typed, listed) -> set[str]:
    answer = asked(typed, listed)
    stops = {f.field for f in answer.findings if f.severity is Severity.STOP}
    assert (answer.specification is None) == bool(stops)
    return stops


def test_a_sound_submission_makes_a_full_specification(listed):
    made = asked(SOUND, listed).specification
    assert made.diameter == pytest.approx(72 * INCH)
    assert (made.use, made.wish, made.hand, made.blades) == (Use.FLIGHT, Wish.KNOWN, Hand.RIGHT, 2)
    assert (made.category, made.position) == (Category.TYPE_CERTIFICATED, Position.TRACTOR)
    assert made.hub == listed.hub_patterns["sae-1"]
    assert made.engine == listed.engines["continental-a65-8f"]


@pytest.mark.parametrize("bad", NOT_NUMBERS.values(), ids=NOT_NUMBERS.keys())
def test_what_is_no_plain_number_is_refused_at_every_number(listed, bad):
    missed = [name for name in NUMBERS if name not in refused_fields({**SOUND, name: bad}, listed)]
    assert missed == []


@pytest.mark.parametrize("bad", NOT_NUMBERS.values(), ids=NOT_NUMBERS.keys())
def test_what_is_not_listed_is_refused_at_every_choice(listed, bad):
    missed = [name for name in CHOICES + FLAGS if name not in refused_fields({**SOUND, name: bad}, listed)]
    assert missed == []


@pytest.mark.parametrize("bad", ["😀", "x" * 10_000, "a\nb", "a\x00b", "a\u202eb", "\ud800"])
def test_text_is_short_printable_and_on_one_line(listed, bad):
    missed = [name for name in TEXTS if name not in refused_fields({**SOUND, name: bad}, listed)]
    assert missed == []


def test_every_refusal_says_what_would_be_accepted(listed):
    for name in NUMBERS + CHOICES:
        finding = next(f for f in asked({**SOUND, name: "😀"}, listed).findings if f.field == name)
        assert finding.message.startswith(("Give ", "Choose ")), finding
        assert "😀" not in finding.message


def test_all_that_needs_mending_is_told_at_once(listed):
    typed = {**SOUND, "diameter": "-1", "blades": "5", "timber": "cheese", "country": "Germany"}
    assert refused_fields(typed, listed) == {"diameter", "blades", "timber", "country"}


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"pitch": ""}, "pitch"),
        ({"wish": "recommend"}, "wish"),
        ({"pitch": "150"}, "pitch"),
        ({"top_speed": "80", "cruise_speed": "100"}, "cruise_speed"),
        ({"boss_diameter": "4"}, "boss_diameter"),
        ({"bolts": "8"}, "bolts"),
        ({"circle": "4.75"}, "circle"),
        ({"hub": "as-measured", "circle": "4", "pilot": "4"}, "pilot"),
        ({"hub": "as-measured", "bolts": "24", "circle": "4", "hole": "0.6"}, "hole"),
        ({"hub": "blank-boss"}, "hub"),
        ({"use": "display", "hub": "blank-boss", "bolts": "6"}, "bolts"),
        ({"use": "display", "hub": "blank-boss", "circle": "4"}, "circle"),
        ({"use": "display", "hub": "blank-boss", "bolts": "1"}, "bolts"),
        ({"rotation": "clockwise"}, "rotation"),
        ({"position": "pusher"}, "position"),
        ({"engine": "", "airframe": "", "wish": "recommend", "diameter": "", "pitch": ""}, "engine"),
        ({"airframe": "", "wish": "recommend", "diameter": "", "pitch": ""}, "top_speed"),
    ],
)
def test_contradictions_are_refused_at_the_field(listed, changes, field):
    assert field in refused_fields({**SOUND, **changes}, listed)


@pytest.mark.parametrize(
    ("typed", "inches"), [("4-3/8", 4.375), ("4 3/8", 4.375), ("4.375", 4.375), ("4,375", 4.375)]
)
def test_inches_may_be_fractions_and_commas(listed, typed, inches):
    made = asked({**SOUND, "circle": typed}, listed).specification
    assert made.hub.circle.value == pytest.approx(inches * INCH, abs=1e-12)


@pytest.mark.parametrize(
    ("typed", "metres"),
    [
        ('54"', 1.3716),
        ("54 in", 1.3716),
        ("54 inches", 1.3716),
        ("54½", 1.3843),
        ("4' 6\"", 1.3716),
        ("1372 mm", 1.372),
        ("1\u202f372 mm", 1.372),
        ("137.2 cm", 1.372),
        ("1,372 m", 1.372),
    ],
)
def test_a_length_may_carry_its_own_unit(listed, typed, metres):
    assert asked({**SOUND, "diameter": typed}, listed).specification.diameter == pytest.approx(metres)


@pytest.mark.parametrize(
    ("name", "typed", "part", "value"),
    [
        ("power", "50 hp", "rated_power", 50 * 745.6998715822702),
        ("power", "37kW", "rated_power", 37_000),
        ("power", "50 PS", "rated_power", 50 * 735.49875),
        ("engine_rpm", "2 300 rpm", "rated_speed", 2300 / 60),
        ("engine_rpm", "2300 rev/min", "rated_speed", 2300 / 60),
        ("gear_ratio", "2.43 : 1", "gear_ratio", 2.43),
    ],
)
def test_the_engine_is_described_as_people_write_it(listed, name, typed, part, value):
    engine = asked({**SOUND, "engine": "continental-a65-8f", name: typed}, listed).specification.engine
    assert getattr(engine, part).value == pytest.approx(value)


@pytest.mark.parametrize(
    ("name", "typed", "part", "value"),
    [
        ("top_speed", "90 kt", "top_speed", 90 * 1852 / 3600),
        ("top_speed", "165 km/h", "top_speed", 165 / 3.6),
        ("altitude", "3 000 ft", "altitude", 914.4),
        ("humidity", "55 %", "climate_humidity", 0.55),
        ("moisture", "9 %", "moisture", 9),
        ("temperature", "18 °C", "climate_temperature", 18),
        ("clocking", "30°", "clocking", 30),
    ],
)
def test_other_figures_may_carry_their_unit(listed, name, typed, part, value):
    assert getattr(asked({**SOUND, name: typed}, listed).specification, part) == pytest.approx(value)


def test_a_figure_out_of_range_is_told_in_the_unit_it_was_typed_in(listed):
    finding = next(
        f for f in asked({**SOUND, "diameter": "9000 mm"}, listed).findings if f.field == "diameter"
    )
    assert (finding.code, finding.unit) == ("out-of-range", "mm")
    assert "500 to 4000 millimetres" in finding.message


@pytest.mark.parametrize("typed", ["4-3/8 mm", "50 hp", '72""', "5' 80 mm", "1 23", "1/2/3"])
def test_a_length_that_reads_two_ways_is_refused(listed, typed):
    assert "diameter" in refused_fields({**SOUND, "diameter": typed}, listed)


def test_no_pilot_is_a_nought_unless_the_listed_pattern_has_one(listed):
    own = {**SOUND, "hub": "as-measured", "bolts": "6", "circle": "4", "hole": "0.4"}
    assert asked({**own, "pilot": "0", "lug_diameter": "0"}, listed).specification.hub.pilot is None
    assert refused_fields({**SOUND, "pilot": "0"}, listed) == {"pilot"}


@pytest.mark.parametrize("length", ["72", "4-3/8", "0.394", "21/64", "57.5"])
def test_a_length_turned_into_millimetres_and_back_is_the_same(length):
    there = in_other_unit(length, "in", "mm")
    assert float(there) == pytest.approx(25.4 * float(figure_of(length, "length", "in")[0]), abs=0.0051)
    assert figure_of(in_other_unit(there, "mm", "in"), "length", "in")[0] == pytest.approx(
        figure_of(length, "length", "in")[0], abs=2e-4
    )


@pytest.mark.parametrize("kept", ["54 in", "1 372 mm", "about 54", "", "4' 6\""])
def test_what_carries_its_unit_or_is_no_length_is_not_turned(kept):
    assert in_other_unit(kept, "in", "mm") == kept


@pytest.mark.parametrize(
    ("open_field", "field"),
    [
        ({"pitch": ""}, "pitch"),
        ({"wish": "copy", "diameter": "", "pitch": ""}, "diameter"),
        ({"engine": "", "airframe": "", "wish": "recommend", "diameter": "", "pitch": ""}, "engine"),
        ({"airframe": "", "wish": "recommend", "diameter": "", "pitch": ""}, "top_speed"),
    ],
)
def test_what_is_left_open_is_told_apart_from_what_is_wrong(listed, open_field, field):
    codes = {f.code for f in asked({**SOUND, **open_field}, listed).findings if f.field == field}
    assert codes == {MISSING}


def test_findings_are_told_in_the_customers_unit(listed):
    made = asked({**SOUND, "length_unit": "mm", "diameter": "1830", "pitch": "1120"}, listed).specification
    metric = " ".join(f.message for f in assess(made).findings)
    imperial = " ".join(f.message for f in assess(replace(made, entered_unit="in")).findings)
    assert " mm " in metric and " km/h" in metric and " psi" not in metric and " mph" not in metric
    assert " in " in imperial and " psi" in imperial and " MPa" not in imperial and " km/h" not in imperial


def test_millimetres_and_inches_stay_what_they_are(listed):
    typed = {**SOUND, "hub": "as-measured", "bolts": "8", "hole": "10", "diameter": "2400", "pitch": "2100"}
    metric = asked({**typed, "length_unit": "mm", "circle": "120"}, listed).specification.hub
    imperial = asked({**SOUND, "hub": "as-measured", "bolts": "8", "circle": "4-3/4", "hole": "0.4"}, listed)
    assert (metric.circle.value, metric.entered_unit) == (0.12, "mm")
    assert (imperial.specification.hub.circle.value, imperial.specification.hub.entered_unit) == (
        0.12065,
        "in",
    )
    assert metric.is_complete
    assert metric.circle.trust is Trust.MEASURED


def test_own_figures_go_before_the_catalogues(listed):
    engine = asked({**SOUND, "power": "50", "power_unit": "kW"}, listed).specification.engine
    assert (engine.code, engine.rated_power.value) == ("continental-a65-8f", 50_000)
    assert engine.rated_power.trust is Trust.MEASURED
    assert engine.rated_speed == listed.engines["continental-a65-8f"].rated_speed


def test_an_airframe_and_engine_that_are_not_listed_are_described(listed):
    typed = {"airframe_name": "My own", "engine_name": "Converted", "power": "60", "engine_rpm": "3200"}
    made = asked(
        {**typed, "diameter": "60", "pitch": "30", "category": "amateur-built"}, listed
    ).specification
    assert (made.airframe.name, made.airframe.category) == ("My own", Category.AMATEUR_BUILT)
    assert made.engine.rated_speed.value == pytest.approx(3200 / 60)


def test_a_pusher_on_the_same_engine_turns_the_other_hand(listed):
    typed = {"airframe_name": "Pusher", "engine": "continental-a65-8f", "diameter": "66", "pitch": "40"}
    assert asked({**typed, "position": "tractor"}, listed).specification.hand is Hand.RIGHT
    assert asked({**typed, "position": "pusher"}, listed).specification.hand is Hand.LEFT


def test_an_unlisted_engine_turns_as_its_owner_sees_it(listed):
    typed = {"engine_name": "Converted", "power": "60", "engine_rpm": "3200", "diameter": "60", "pitch": "30"}
    made = asked({**typed, "rotation": "clockwise"}, listed).specification
    assert (made.engine.hand_as_tractor, made.hand) == (Hand.LEFT, Hand.LEFT)


def test_what_was_assumed_is_said(listed):
    bare = {"engine": "vw-1600", "diameter": "54", "pitch": "24"}
    codes = {f.code for f in asked(bare, listed).findings}
    assert codes == {"hub-assumed", "timber-assumed", "hand-not-known"}


def test_a_display_piece_needs_neither_engine_nor_bolts(listed):
    made = asked(
        {"use": "display", "diameter": "96", "pitch": "60", "timber": "yellow-poplar"}, listed
    ).specification
    assert (made.use, made.hub.code, made.category) == (Use.DISPLAY, "blank-boss", Category.NOT_REGISTERED)


def test_a_bore_alone_leaves_a_display_piece_its_blank_boss(listed):
    wall = {"use": "display", "diameter": "96", "pitch": "60", "pilot": "1"}
    bored = asked(wall, listed).specification.hub
    assert (bored.code, bored.bolts, bored.pilot.value) == ("blank-boss", 0, pytest.approx(0.0254))
    drilled = asked({**wall, "circle": "4", "bolts": "6"}, listed).specification.hub
    assert (drilled.code, drilled.bolts) == ("as-measured", 6)


def test_a_display_piece_is_not_sent_to_look_at_an_engine(listed):
    found = asked({"use": "display", "diameter": "96", "pitch": "60"}, listed).findings
    assert {f.code: f.severity for f in found if f.field == "hand"} == {"hand-assumed": Severity.NOTE}


def test_a_timber_for_display_pieces_is_not_priced_for_flight_without_the_owner(listed):
    flown = asked({**SOUND, "timber": "yellow-poplar"}, listed)
    stops = [f for f in flown.findings if f.severity is Severity.STOP]
    assert flown.specification is not None
    assert [(f.code, f.field) for f in stops] == [("display-only", "timber")]
    hung = asked({**SOUND, "use": "display", "timber": "yellow-poplar"}, listed)
    assert [f for f in hung.findings if f.severity is Severity.STOP] == []


def test_every_specification_survives_storing(listed):
    for code, row in listed.airframes.items():
        typed = {
            "airframe": code,
            "diameter": "70",
            "pitch": "40",
            "hub": "as-measured",
            "bolts": "7",
            "circle": "5",
        }
        made = asked({**typed, "position": row.position.value, "decal_text": "Ærø 7"}, listed).specification
        assert structured(unstructured(made), Specification) == made


def test_a_form_post_and_an_api_body_read_alike(listed):
    form = {
        "use": ["display"],
        "diameter": ["72"],
        "pitch": ["40"],
        "decal_both": ["off"],
        "decal_text": ["No 7"],
    }
    body = {"use": "display", "diameter": 72, "pitch": 40.0, "decal_both": False, "decal_text": "No 7"}
    assert asked(body, listed).specification == asked(form, listed).specification
    assert asked(body, listed).specification.decal.both_blades is False
