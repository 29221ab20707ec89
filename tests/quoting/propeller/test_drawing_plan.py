"""The plan drawing: to scale, the right way round, readable by a screen reader, safe to put on a page."""

import re
from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations
from math import hypot
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.propeller.blade import Blade
from quoting.propeller.catalogue import Hand, HubPattern, Position, TipForm
from quoting.propeller.drawing.hubface import hole_centres
from quoting.propeller.drawing.lettering import both_lengths, inches
from quoting.propeller.drawing.plan import GUARD_LAP, Placing, Wood, blade_outline, guard_parts, propeller_svg
from quoting.propeller.drawing.readiness import _density, range_svg
from quoting.propeller.figure import Figure, Trust
from quoting.propeller.hub import boss
from quoting.propeller.loft import loft
from tests.quoting.samples import specification

INCH = 0.0254
SVG = "{http://www.w3.org/2000/svg}"


def published(value: float) -> Figure:
    return Figure(value, Trust.PUBLISHED, "test")


HUB = HubPattern(
    code="six-on-4-3/8",
    name="6 on 4-3/8 in",
    bolts=6,
    circle=published(4.375 * INCH),
    hole=published(25 / 64 * INCH),
    bolt=published(0.375 * INCH),
    pilot=published(2.25 * INCH),
    pilot_depth=None,
    lug_diameter=None,
    lug_depth=None,
    boss_diameter=None,
    boss_thickness=None,
    plate_diameter=None,
    entered_unit="in",
    remark="",
)


def blade(**changes: object) -> Blade:
    return Blade.wooden(**{"diameter": 72 * INCH, "pitch": 44 * INCH, **changes})  # type: ignore[arg-type]


def parsed(text: str) -> ElementTree.Element:
    return ElementTree.fromstring(text)  # noqa: S314 - our own text


def drawn(hub: HubPattern | None = HUB, hand: Hand = Hand.RIGHT, **options: object) -> ElementTree.Element:
    shown = blade(hand=hand, blades=options.pop("blades", 2))
    text = propeller_svg(shown, 0.1524, 0.1, hub, hand=hand, position=Position.TRACTOR, **options)  # type: ignore[arg-type]
    return parsed(text)


def outlines(svg: ElementTree.Element) -> list[np.ndarray]:
    return [
        np.array(re.findall(r"-?[\d.]+", element.get("d", "")), dtype=float).reshape(-1, 2)
        for element in svg.iter(f"{SVG}path")
        if element.get("stroke-width") == "1.4"
    ]


def holes(svg: ElementTree.Element) -> list[tuple[float, float]]:
    small = [c for c in svg.iter(f"{SVG}circle") if float(c.get("r", "0")) < 2.5]
    return [(float(c.get("cx", "")), float(c.get("cy", ""))) for c in small]


def test_the_boss_and_the_blades_share_one_scale():
    svg = drawn()
    across = np.ptp(np.concatenate(outlines(svg))[:, 0])
    boss = next(float(c.get("r", "")) for c in svg.iter(f"{SVG}circle"))
    assert 2 * boss / across == pytest.approx(0.1524 / (72 * INCH), rel=0.002)


def test_the_bolt_circle_is_drawn_where_the_pattern_puts_it():
    svg = drawn()
    boss = next(c for c in svg.iter(f"{SVG}circle"))
    x, y, r = (float(boss.get(key, "")) for key in ("cx", "cy", "r"))
    found = [hypot(a - x, b - y) / r * 0.1524 for a, b in holes(svg)]
    assert len(found) == 6
    assert found == pytest.approx([4.375 * INCH] * 6, rel=0.005)


def test_no_clocking_puts_a_hole_on_the_blade_and_clocking_turns_clockwise_seen_from_the_front():
    assert hole_centres(HUB, 0.0)[0] == pytest.approx((4.375 * INCH / 2, 0.0))
    # the blade lies to the right, y runs down; from behind, clockwise from the front is anticlockwise: up
    x, y = hole_centres(HUB, 15.0)[0]
    assert x > 0 > y


def test_paper_and_boss_put_the_holes_in_the_same_places():
    """The boss looks from the front with the blade up; the plan from behind with the blade to the right."""
    made = boss(specification(clocking=13.0, hub=HUB))
    seen = sorted((round(along, 9), round(-across, 9)) for across, along in made.holes)
    # turned by a quarter so that up becomes right, and mirrored: across to the right becomes up the page
    drawn_at = sorted((round(x, 9), round(y, 9)) for x, y in hole_centres(HUB, 13.0))
    assert np.allclose(seen, drawn_at, atol=1e-8)


def test_the_other_hand_is_the_mirror_image():
    right, left = outlines(drawn(hand=Hand.RIGHT))[0], outlines(drawn(hand=Hand.LEFT))[0]
    middle = 2 * float(next(drawn().iter(f"{SVG}circle")).get("cy", ""))
    assert np.allclose(right[:, 0], left[:, 0], atol=0.02)
    assert np.allclose(right[:, 1], middle - left[:, 1], atol=0.02)


def test_a_right_hand_blade_lying_to_the_right_has_its_leading_edge_below():
    points = blade_outline(loft(blade(), 0.1524, 0.1))
    outboard = points[np.abs(points[:, 0] - 0.6 * 0.9144) < 0.03]
    # the pitch axis lies 0.35 c behind the leading edge, so the narrower side is ahead of it
    assert 0 < outboard[:, 1].max() < -outboard[:, 1].min()


@pytest.mark.parametrize("blades", [2, 3, 4])
@pytest.mark.parametrize("tip", list(TipForm))
def test_every_form_reaches_its_diameter_and_leaves_no_number_behind(blades, tip):
    shape = blade(blades=blades, tip_form=tip)
    points = blade_outline(loft(shape, 0.1524, 0.1))
    assert points[:, 0].max() == pytest.approx(shape.radius, rel=0.001)
    svg = propeller_svg(shape, 0.1524, 0.1, HUB, hand=Hand.RIGHT, position=Position.PUSHER)
    assert "nan" not in svg and "inf" not in svg
    assert len(outlines(parsed(svg))) == blades


def test_a_pattern_with_a_missing_hole_is_drawn_without_holes_and_says_so():
    svg = drawn(replace(HUB, hole=None))
    assert holes(svg) == []
    assert "of unknown size" in svg.findtext(f"{SVG}desc", "")


def test_the_picture_tells_in_words_which_way_it_turns():
    assert "turns clockwise" in drawn().findtext(f"{SVG}desc", "")
    assert "turns anticlockwise" in drawn(hand=Hand.LEFT).findtext(f"{SVG}desc", "")


def test_nothing_in_the_picture_needs_a_style_or_a_script():
    text = propeller_svg(
        blade(), 0.1524, 0.1, HUB, hand=Hand.RIGHT, position=Position.TRACTOR, wood=Wood("#c9975b", 0.019)
    )
    assert "style=" not in text and "<style" not in text and "<script" not in text


def test_a_boss_wider_than_half_the_propeller_is_refused_by_name():
    with pytest.raises(ValueError, match="boss_diameter"):
        loft(blade(), 1.0, 0.1)


def test_lengths_are_lettered_as_the_trade_writes_them():
    assert inches(4.375 * INCH) == "4-3/8 in"
    assert inches(25 / 64 * INCH) == "25/64 in"
    assert inches(0.120) == "4.724 in"
    assert both_lengths(72 * INCH, "in").startswith("72 in (1")


def test_four_and_three_quarter_inches_is_never_lettered_as_120_mm():
    assert both_lengths(4.75 * INCH, "mm") == "120.65 mm (4-3/4 in)"


def test_the_forecast_curve_holds_four_fifths_of_its_area_before_plan_on():
    points = np.array(_density(25.0, 44.0, 69.0))
    steps = np.diff(points[:, 0]) * (points[1:, 1] + points[:-1, 1]) / 2
    before = np.interp(44.0, points[1:, 0], np.cumsum(steps)) / steps.sum()
    assert before == pytest.approx(0.80, abs=0.01)
    assert np.all(points[:, 0] > 0)


def test_the_forecast_picture_names_its_three_dates_and_refuses_dates_out_of_order():
    day = date(2027, 3, 12)
    svg = range_svg(day, date(2027, 3, 28), date(2027, 4, 10), date(2026, 11, 25))
    assert "Likely by 12 Mar 2027, plan on 28 Mar 2027, 19 in 20 by 10 Apr 2027" in svg
    with pytest.raises(ValueError, match="out of order"):
        range_svg(day, date(2027, 3, 1), date(2027, 4, 10), date(2026, 11, 25))


def test_a_forecast_for_a_single_day_still_draws():
    day = date(2027, 3, 12)
    assert "nan" not in range_svg(day, day, day, day)


@given(st.lists(st.integers(0, 60), min_size=4, max_size=4), st.booleans())
def test_each_day_of_the_forecast_picture_is_written_once_and_over_no_other(lengths, promised):
    start = date(2026, 11, 25)
    *dates, promise = (start + timedelta(days=sum(lengths[: n + 1])) for n in range(4))
    svg = range_svg(*dates, start, promise=promise if promised else None)
    labels = [
        (float(y), float(x) - 2.9 * len(words), float(x) + 2.9 * len(words), words)
        for x, y, words in re.findall(r'<text [^>]*?x="([\d.]+)" y="([\d.]+)"[^>]*>([^<]+)</text>', svg)
    ]
    words = [label[3] for label in labels]
    assert len(set(words)) == len(words) == len({*dates, promise} if promised else {*dates})
    for one, other in combinations(labels, 2):
        assert one[0] != other[0] or one[2] < other[1] or other[2] < one[1], (one, other)


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_an_edge_guard_lies_along_the_outer_leading_edge_and_within_the_blade(sense):
    surface = loft(Blade.wooden(diameter=1.83, pitch=1.12), 0.152, 0.09)
    (strip,) = guard_parts(surface, Placing((0.0, 0.0), 1000.0, 0.0, sense), 0.4, "#b8923f")
    points = np.array(
        [[float(n) for n in pair.split()] for pair in re.search(r'd="M([^"Z]+)', strip)[1].split("L")]
    )
    r, s = points[:, 0] / 1000, sense * points[:, 1] / 1000
    tip = surface.r[-1]
    assert r.min() == pytest.approx(0.6 * tip, abs=1e-4)
    assert r.max() == pytest.approx(tip, abs=1e-4)
    ahead, behind = (np.interp(r, surface.r, edge) for edge in (surface.forward_edge, surface.rearward_edge))
    assert (s <= ahead + 1e-4).all()
    assert (s >= behind - 1e-4).all()
    assert (ahead - s).max() <= GUARD_LAP + 1e-4
