"""The dimensioned sheet and the charts: what they show is what was computed, and they say when there is nothing."""

import re
from datetime import date
from xml.etree import ElementTree

import numpy as np
import pytest

from quoting.propeller.assessment import assess
from quoting.propeller.catalogue import Hand
from quoting.propeller.drawing.axes import Axis, Chart, round_step
from quoting.propeller.drawing.cells import TitleBlock, broken
from quoting.propeller.drawing.performance import power_svg, stress_svg, thrust_svg
from quoting.propeller.drawing.sheet import NothingToDrawError, drawing_sheet
from quoting.propeller.drawing.sizes import map_svg
from quoting.propeller.powerplant import Powerplant
from quoting.propeller.sizemap import size_map
from quoting.propeller.specification import Hardware, Use
from tests.quoting.samples import INCH, blank_boss, sae1, specification

SVG = "{http://www.w3.org/2000/svg}"
BLOCK = TitleBlock("Otterbank Airscrews", "D-0031", "A", "estimate", date(2026, 11, 25))
STANDARD = specification(diameter=72 * INCH, pitch=44 * INCH)
KNOWN = assess(STANDARD)


def parsed(text: str) -> ElementTree.Element:
    return ElementTree.fromstring(text)  # noqa: S314 - our own text


def lettering(svg: str) -> list[str]:
    return ["".join(element.itertext()) for element in parsed(svg).iter(f"{SVG}text")]


def sheet(**changes: object) -> str:
    return drawing_sheet(assess(specification(diameter=72 * INCH, pitch=44 * INCH, **changes)), BLOCK).svg


def test_the_title_block_carries_what_number_revision_state_and_day():
    words = lettering(sheet())
    for wanted in ("72 x 44 in, two blades, right hand, tractor", "D-0031", "A", "estimate", "2026-11-25"):
        assert wanted in words


def test_the_scale_written_is_the_scale_drawn():
    svg = sheet()
    ratio = float(next(w for w in lettering(svg) if re.fullmatch(r"1 : [\d.]+", w)).removeprefix("1 : "))
    heavy = [
        np.array(re.findall(r"-?[\d.]+", element.get("d", "")), dtype=float).reshape(-1, 2)
        for element in parsed(svg).iter(f"{SVG}path")
        if element.get("stroke-width") == "1.4"
    ]
    # the two blades in plan are drawn first; A3 on its side is 420 mm wide
    across = np.ptp(np.concatenate(heavy[:2])[:, 0]) * 420 / 1190.55
    assert across == pytest.approx(72 * 25.4 / ratio, rel=0.002)


def test_the_table_of_stations_gives_the_blade_s_chord_and_angle():
    words = lettering(sheet())
    assert f"{float(KNOWN.blade.chord_m(2 / 3)) / INCH:.2f}" in words
    assert f"{np.degrees(float(KNOWN.blade.angle_rad(2 / 3))):.1f}" in words


@pytest.mark.parametrize("blades", [2, 3, 4])
@pytest.mark.parametrize("hand", list(Hand))
def test_every_number_of_blades_and_hand_draws_a_whole_sheet(blades, hand):
    svg = sheet(blades=blades, hand=hand)
    assert "nan" not in svg
    way = "clockwise" if hand is Hand.RIGHT else "anticlockwise"
    assert f"turns {way}, seen from its slipstream" in lettering(svg)


def test_an_incomplete_pattern_is_told_on_the_sheet():
    assert any("do not drill" in words for words in lettering(sheet(hub=sae1(hole=None))))
    assert not any("do not drill" in words for words in lettering(sheet()))


def test_what_is_bolted_on_is_drawn_broken_and_named():
    bare = sheet()
    dressed = sheet(hardware=Hardware(0.25 * INCH, 1.0 * INCH, 10 * INCH, 5 * INCH))
    assert dressed.count('stroke-dasharray="4 2.5"') == bare.count('stroke-dasharray="4 2.5"') + 5
    assert any("spinner 10 in, bolts 5 in" in line for line in lettering(dressed))


def test_a_display_piece_is_marked_not_for_flight():
    hung = lettering(sheet(use=Use.DISPLAY))
    assert "NOT FOR FLIGHT: a display piece" in hung
    assert "NOT FOR FLIGHT" in hung  # the cell of the title block
    assert not any("NOT FOR FLIGHT" in line for line in lettering(sheet()))


def test_a_blank_boss_is_lettered_as_bored_only_and_not_as_incomplete():
    hung = lettering(sheet(use=Use.DISPLAY, hub=blank_boss()))
    assert "bored at the centre only, no bolt holes" in hung
    assert not any(word in line for line in hung for word in ("NOT COMPLETE", "not known", "unknown"))
    assert any("NOT COMPLETE" in line for line in lettering(sheet(hub=blank_boss(bolts=None))))


def test_the_sheet_says_that_it_is_no_approval():
    assert "no approval" in " ".join(lettering(sheet()))


def test_a_specification_that_cannot_be_shaped_is_not_drawn_and_the_reason_is_given():
    refused = assess(specification(diameter=-1.0, pitch=44 * INCH))
    with pytest.raises(NothingToDrawError, match=re.escape(refused.findings[0].message[:20])):
        drawing_sheet(refused, BLOCK)


def test_the_power_picture_marks_the_rpm_that_was_computed():
    svg = power_svg(KNOWN.performance)
    assert f"standing {KNOWN.performance.static.rpm:.0f}" in lettering(svg)
    band = KNOWN.performance.static.rpm_band
    assert f"({band.low:.0f} to {band.high:.0f})" in parsed(svg).findtext(f"{SVG}desc", "")


def test_the_absorbed_power_crosses_the_available_at_the_marked_rpm():
    curves, static = KNOWN.performance.curves, KNOWN.performance.static
    gap = np.interp(static.speed, curves.shaft_speed, curves.available - curves.absorbed_static)
    # the curve is drawn through few points: 3 % of power is 1 % of rpm
    assert abs(gap) < 0.03 * static.power


def test_the_thrust_picture_says_where_thrust_meets_drag_in_the_reader_s_units():
    level = KNOWN.performance.level_speed
    assert f"{level / 0.44704:.0f} mph" in thrust_svg(KNOWN.performance, "in")
    assert f"{level * 3.6:.0f} km/h" in thrust_svg(KNOWN.performance, "mm")


def test_without_a_known_top_speed_the_pictures_still_draw():
    unknown = assess(specification(diameter=72 * INCH, pitch=44 * INCH, airframe=None, top_speed=None))
    assert unknown.performance.curves.drag is None
    assert "top speed" not in power_svg(unknown.performance)
    assert "drag" not in " ".join(lettering(thrust_svg(unknown.performance)))


def test_the_stress_picture_names_the_worst_case_and_station():
    svg = stress_svg(KNOWN.strength)
    assert f"{KNOWN.strength.worst.name}, give or take 20 %" in lettering(svg)
    assert any(f"at {KNOWN.strength.worst.worst_station:.2f} R" in words for words in lettering(svg))


def sizes():
    p = KNOWN.performance
    return size_map(KNOWN.blade, Powerplant.from_engine(STANDARD.engine), p.top.airspeed, p.air, p.wake)


def test_on_the_map_more_pitch_and_more_diameter_always_turn_slower():
    speed = sizes().speed
    assert np.all(np.diff(speed, axis=0) < 0)
    assert np.all(np.diff(speed, axis=1) <= 0)


def test_a_line_of_equal_rpm_runs_through_sizes_that_turn_that_fast():
    found = sizes()
    pitch = found.pitch_at(1.0)
    here = np.flatnonzero(np.isfinite(pitch))
    assert here.size > 5
    speeds = [np.interp(pitch[i], found.pitch, found.speed[i]) for i in here]
    assert speeds == pytest.approx([found.rated] * here.size, rel=1e-6)


def test_the_map_marks_the_propeller_and_names_the_offers():
    svg = map_svg(sizes(), 72 * INCH, 44 * INCH, KNOWN.recommendations)
    assert "this propeller: 72 x 44 in" in lettering(svg)
    for offer in KNOWN.recommendations:
        words = f"recommended: {offer.character.value} {offer.diameter / INCH:.1f}".removesuffix(".0")
        assert any(said.startswith(words) for said in lettering(svg))


def boxes(svg: str) -> list[tuple[float, float, float, float]]:
    """Left, top, right, bottom of every text, its letters taken as wide as they may be."""
    found = []
    for element in parsed(svg).iter(f"{SVG}text"):
        size, words = float(element.get("font-size", "")), "".join(element.itertext())
        width = 0.52 * size * len(words)
        back = {"start": 0.0, "middle": 0.5, "end": 1.0}[element.get("text-anchor", "start")] * width
        x, y = float(element.get("x", "")) - back, float(element.get("y", ""))
        found.append((x, y - 0.75 * size, x + width, y + 0.2 * size))
    return found


@pytest.mark.parametrize("diameter", [52, 72, 88])
def test_no_words_of_a_chart_lie_on_each_other_or_off_the_paper(diameter):
    shown = assess(specification(diameter=diameter * INCH, pitch=44 * INCH))
    p = shown.performance
    found = size_map(shown.blade, Powerplant.from_engine(STANDARD.engine), p.top.airspeed, p.air, p.wake)
    own = (diameter * INCH, 44 * INCH)
    charts = [
        power_svg(p),
        thrust_svg(p),
        stress_svg(shown.strength),
        map_svg(found, *own, shown.recommendations),
    ]
    for svg in charts:
        placed = boxes(svg)
        for k, (left, top, right, bottom) in enumerate(placed):
            assert left > -1 and right < 421 and top > -1
            for other in placed[:k]:
                assert right <= other[0] or left >= other[2] or bottom <= other[1] or top >= other[3]


def test_steps_on_an_axis_are_round_and_few():
    for span in (0.013, 0.7, 9.9, 10.0, 97.0, 12345.0):
        step = round_step(span, 6)
        assert 1 <= span / step <= 6
        assert any(step / 10 ** np.floor(np.log10(step)) == pytest.approx(k) for k in (1, 2, 2.5, 5))


def test_a_curve_that_leaves_the_chart_is_cut_and_nothing_is_drawn_of_what_is_no_number():
    chart = Chart(Axis(0, 10, 0, 100, "x"), Axis(0, 1, 100, 0, "y"))
    assert "nan" not in chart.curve([0, 1, 2, 3], [0.1, 0.2, float("nan"), 5.0], "")
    assert chart.curve([0, 1], [5.0, 6.0], "") == ""


def test_words_are_broken_between_words_only():
    lines = broken("six holes of three eighths on a circle", 12)
    assert " ".join(lines) == "six holes of three eighths on a circle"
    assert max(len(line) for line in lines) <= 12


@pytest.mark.parametrize(("diameter", "blades"), [(40, 4), (52, 2), (72, 3), (96, 2)])
def test_the_views_stay_above_the_row_of_sections(diameter, blades):
    shown = assess(
        specification(
            diameter=diameter * INCH, pitch=0.6 * diameter * INCH, blades=blades, boss_diameter=0.16
        )
    )
    svg = drawing_sheet(shown, BLOCK).svg
    boxes = [r for r in parsed(svg).iter(f"{SVG}rect") if r.get("stroke-width") == "1.4"]
    bottoms = [float(r.get("y", "")) + float(r.get("height", "")) for r in boxes]
    # the boss in the edge view is the upper box, the title block the lower
    assert min(bottoms) + 30 < 390
    assert max(bottoms) < 841.89
