"""The templates measured in the PDF itself: a 100 mm bar of 100 mm, every hole where the pattern puts it."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from quoting.documents.drawings import sheets_pdf
from quoting.documents.render import DocumentError
from quoting.propeller.blade import Blade
from quoting.propeller.drawing.truesize import drill_sheets, station_sheets
from quoting.propeller.hub import boss
from quoting.propeller.template import drill_template, station_templates
from tests.quoting.documents.strokes import Stroke, page_sizes, strokes
from tests.quoting.samples import INCH, specification

BOSS = boss(specification(clocking=17.0))
WIDE = replace(BOSS, diameter=0.275)
PAPERS = {"a4": (210.0, 297.0), "us-letter": (215.9, 279.4)}


def printed(of=BOSS, paper: str = "a4", blades: int = 2) -> bytes:
    sheets = drill_sheets(drill_template(of, blades), paper=paper, name="72 x 44 in, serial OB 0231")
    return sheets_pdf(sheets, paper=paper, title="Drill template", author="Otterbank", day=date(2026, 11, 25))


def circles(found: list[Stroke], diameter_mm: float) -> np.ndarray:
    """Centres in mm of the circles of one diameter."""
    round_ones = [s for s in found if s.curved and np.allclose(s.size, diameter_mm, atol=0.03)]
    return np.array([s.centre for s in round_ones])


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_the_page_is_the_paper_and_the_ten_centimetre_bar_is_ten_centimetres(paper):
    pdf = printed(paper=paper)
    assert page_sizes(pdf)[0] == pytest.approx(PAPERS[paper], abs=0.05)
    level = [s for s in strokes(pdf) if not s.curved and len(s.points) == 2 and s.size[1] < 0.01]
    bars = [s.size[0] for s in level if 95 < s.size[0] < 105]
    assert min(bars) == pytest.approx(100.0, abs=0.02)
    assert max(bars) == pytest.approx(101.6, abs=0.02)


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_every_hole_lies_within_five_hundredths_of_a_millimetre_of_the_pattern(paper):
    found = strokes(printed(paper=paper))
    shaft = circles(found, BOSS.diameter * 1000)[0]
    holes = circles(found, BOSS.hole * 1000)
    wanted = shaft + BOSS.holes * [1000, -1000]
    assert len(holes) == 6
    gaps = np.linalg.norm(holes[:, None] - wanted[None], axis=2).min(1)
    assert gaps.max() < 0.05


def test_a_boss_wider_than_the_paper_is_tiled_and_every_sheet_holds_the_pattern_true():
    pdf = printed(WIDE)
    count = len(page_sizes(pdf))
    assert count > 1
    # a sheet shows a window of one drawing: a hole keeps its distance from the shaft on each
    for page in range(count):
        found = strokes(pdf, page)
        shaft = circles(found, 275.0)[0]
        holes = circles(found, BOSS.hole * 1000)
        assert np.linalg.norm(holes - shaft, axis=1) == pytest.approx([BOSS.circle * 500] * 6, abs=0.05)


def test_neighbouring_tiles_carry_one_drawing_a_window_less_the_overlap_apart():
    pdf = printed(WIDE)
    first, second = (circles(strokes(pdf, page), 275.0)[0] for page in (0, 1))
    assert first - second == pytest.approx((210 - 24 - 10, 0), abs=0.02)


def test_the_same_template_gives_the_same_bytes():
    assert printed() == printed()


def test_a_station_is_as_wide_on_paper_as_the_blade():
    blade = Blade.wooden(diameter=72 * INCH, pitch=44 * INCH)
    cut = station_templates(blade, [24 * INCH])
    pdf = sheets_pdf(
        station_sheets(cut), paper="a4", title="Station templates", author="Otterbank", day=date(2026, 11, 25)
    )
    outline = max(strokes(pdf), key=lambda s: len(s.points) if not s.curved else 0)
    assert outline.size[0] == pytest.approx(cut[0].chord * 1000, abs=0.05)
    assert outline.size[1] == pytest.approx(cut[0].thickness * 1000, abs=0.05)


def test_no_sheet_makes_no_paper():
    with pytest.raises(DocumentError, match="at least one"):
        sheets_pdf([], paper="a4", title="x", author="x", day=date(2026, 11, 25))
