"""The four wishes about the size: each has an answer of its own on the page, with and without scripts."""

import re

import pytest

from tests.portal.pages import ASKED

CUB = {"airframe": "piper-j-3c-65", "engine": "continental-a65-8f", "country": "DE"}
SIZE = {"diameter": "72", "pitch": "44"}
WISHES = {
    "recommend": ({}, "Sizes we recommend"),
    "known": (SIZE, "What your size will do"),
    "copy": (SIZE, "What the copy will do"),
    "engine-only": ({}, "What suits your engine and airframe"),
}


def answered(client, **typed: str) -> str:
    """The live answer."""
    return client.post("/ask/estimate", {**CUB, **typed}).content.decode()


@pytest.mark.parametrize("wish", WISHES)
def test_each_wish_is_answered_live_and_without_scripts(anyone, wish):
    typed, heading = WISHES[wish]
    live = answered(anyone, wish=wish, **typed)
    whole = anyone.post("/ask/", {**CUB, "wish": wish, **typed, "look": "1"}).content.decode()
    for page in (live, whole):
        assert heading in page
        assert "not an approval" in page
        for character in ("climb", "standard", "cruise"):
            assert re.search(rf"<b>[\d. x]+ in</b> {character}", page)


def test_a_known_size_tells_its_rpm_as_a_band_and_against_the_rated(anyone):
    page = answered(anyone, wish="known", **SIZE)
    found = re.search(
        r"Standing at full throttle: ([\d\u202f]+) – ([\d\u202f]+) rev/min, (\d+) to (\d+) %", page
    )
    low, high, first, last = (int(text.replace("\u202f", "")) for text in found.groups())
    assert 0.04 < (high - low) / low < 0.08
    # the A-65 is rated at 2300 rev/min
    assert (first, last) == (round(low / 23), round(high / 23))


def test_a_copy_gets_the_stations_to_measure_the_old_one_by(anyone):
    page = answered(anyone, wish="copy", **SIZE)
    stations = re.search(r"Stations to measure.*?</table>", page, re.S).group()
    angles = [float(text) for text in re.findall(r">([\d.]+)°<", stations)]
    assert len(angles) >= 5
    assert angles == sorted(angles, reverse=True)


def test_engine_and_airframe_alone_say_what_was_taken_and_from_where(anyone):
    page = answered(anyone, wish="engine-only")
    taken = re.search(r"What we took as given.*?</dl>", page, re.S).group()
    for named in ("Rated power", "Top speed", "Bolt pattern", "TCDS"):
        assert named in taken


def test_a_size_taken_from_the_list_is_then_the_one_shown(anyone):
    page = answered(anyone, wish="recommend")
    take = re.search(r'name="take" value="([\d.;]+)"', page).group(1)
    after = anyone.post("/ask/", {**CUB, "wish": "recommend", "take": take}).content.decode()
    assert "(shown here)" in after
    assert f'value="{take}"' not in after


def test_the_rotation_is_kept_apart_from_the_hand_and_decides_it(anyone):
    own = {"engine": "", "engine_name": "Of my own", "power": "65", "engine_rpm": "2300", **SIZE}
    tractor = answered(anyone, wish="known", rotation="clockwise", position="tractor", **own, airframe="")
    pusher = answered(anyone, wish="known", rotation="clockwise", position="pusher", **own, airframe="")
    assert "turns anticlockwise, seen from its slipstream" in tractor
    assert "turns clockwise, seen from its slipstream" in pusher


def test_a_free_radius_bounds_the_diameter_recommended(anyone):
    free = answered(anyone, wish="recommend", free_radius="30")
    sizes = [float(text) for text in re.findall(r"<b>([\d.]+) x [\d.]+ in</b>", free)]
    assert sizes and max(sizes) <= 58.0  # 30 in less the inch that must stay


def test_rotation_and_free_radius_come_back_as_typed_and_are_stored(anyone):
    refused = anyone.post("/ask/", {**ASKED, "name": "", "rotation": "anticlockwise", "free_radius": "60"})
    page = refused.content.decode()
    assert re.search(r'value="anticlockwise"[^>]*checked', page)
    assert re.search(r'name="free_radius" value="60"', page)


def test_the_answer_shows_performance_in_the_reader_s_units(anyone):
    anyone.cookies["units"] = "mm"
    page = answered(anyone, wish="known", **SIZE)
    assert re.search(r"thrust [\d\u202f]+ – [\d\u202f]+ N", page)
    assert "km/h" in page


def test_an_engine_that_does_not_meet_its_propeller_still_shows_the_geometry(anyone):
    page = answered(anyone, wish="known", power="900", engine_rpm="2300", **SIZE)
    assert "do not meet" in page and "Name the engine" not in page
    assert "drawing-plan" in page
    assert "Stop" in page


def test_a_wish_that_nothing_meets_says_so_under_its_heading(anyone):
    assert "None can be offered as asked" in answered(anyone, wish="recommend", free_radius="20")
    refused = answered(anyone, wish="copy", top_speed="400", **SIZE)
    assert "It cannot be worked out as asked" in refused and "protractor" not in refused
