"""The papers: every kind compiles tagged and the same twice, prints what was typed, refuses what is incomplete."""

import io
import subprocess
from copy import deepcopy

import pikepdf
import pytest
import segno
from PIL import Image

from quoting.documents.kinds import KINDS, missing_keys
from quoting.documents.render import DocumentError, render, square_code
from tests.quoting.documents.papers import HOSTILE, PAPERS


def words(pdf: bytes) -> str:
    shown = subprocess.run(["pdftotext", "-layout", "-", "-"], input=pdf, capture_output=True, check=True)
    return shown.stdout.decode()


def flowing(pdf: bytes) -> str:
    return " ".join(words(pdf).split())


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_the_same_data_gives_the_same_bytes(kind):
    assert render(kind, PAPERS[kind]()) == render(kind, PAPERS[kind]())


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_paper_is_tagged_titled_and_carries_its_own_fonts(kind):
    with pikepdf.open(io.BytesIO(render(kind, PAPERS[kind]()))) as pdf:
        assert pdf.Root.MarkInfo.Marked
        assert pdf.Root.StructTreeRoot is not None
        assert str(pdf.Root.Lang) == "en"
        assert pdf.open_metadata().get("pdfuaid:part") == "1"
        names = {
            str(font.BaseFont) for page in pdf.pages for font in page.Resources.get("/Font", {}).values()
        }
    assert names and all("SourceSerifPro" in name or "SourceSansPro" in name for name in names)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_leaving_out_any_key_is_refused_by_its_name(kind):
    for key in sorted(KINDS[kind].__required_keys__):
        data = PAPERS[kind]()
        del data[key]
        with pytest.raises(DocumentError, match=key):
            render(kind, data)


def test_a_key_missing_deep_inside_is_named_with_its_place():
    data = deepcopy(PAPERS["quote"]())
    del data["lines"][2]["net"]
    assert missing_keys(KINDS["quote"], data) == ["lines[2].net"]


def test_an_unknown_paper_and_an_unreadable_date_are_refused():
    with pytest.raises(DocumentError, match="no such paper"):
        render("leaflet", PAPERS["quote"]())
    with pytest.raises(DocumentError, match="2026-11-25"):
        render("quote", {**PAPERS["quote"](), "date": "tomorrow"})


def test_what_a_customer_typed_prints_as_typed():
    data = PAPERS["quote"]()
    data["customer"] = {"name": HOSTILE, "address": [HOSTILE]}
    assert words(render("quote", data)).count(HOSTILE) == 2


@pytest.mark.parametrize("kind", ["quote", "build-card", "build-record", "care-sheet", "packing-list"])
def test_every_paper_with_figures_says_that_it_is_no_approval(kind):
    assert "is no approval" in flowing(render(kind, PAPERS[kind]()))


@pytest.mark.parametrize("kind", sorted(KINDS.keys() - {"invoice"}))
def test_a_display_piece_is_marked_not_for_flight_and_others_are_not(kind):
    assert "NOT FOR FLIGHT" not in words(render(kind, PAPERS[kind]()))
    assert "NOT FOR FLIGHT" in words(render(kind, {**PAPERS[kind](), "display_only": True}))


def test_the_care_sheet_asks_for_the_bolts_after_the_first_flight_and_after_25_and_every_50_hours():
    text = flowing(render("care-sheet", PAPERS["care-sheet"]()))
    assert "After the first flight" in text
    assert "After the first 25 hours" in text
    assert "Every 50 hours" in text


def test_without_a_torque_the_care_sheet_sends_the_reader_to_the_maker():
    text = flowing(render("care-sheet", {**PAPERS["care-sheet"](), "torque": []}))
    assert "No torque is given for this hub" in text


def test_money_is_grouped_and_shown_with_its_currency_and_tax():
    text = words(render("quote", PAPERS["quote"]())).replace("\u202f", " ")
    assert "1 284.84" in text
    assert "214.14" in text
    assert "Pounds sterling (GBP)" in text


def test_a_measurement_outside_its_limit_stands_out_in_words():
    assert "NO" in words(render("build-record", PAPERS["build-record"]())).split()


def test_letter_paper_is_letter_paper():
    with pikepdf.open(io.BytesIO(render("quote", {**PAPERS["quote"](), "paper": "us-letter"}))) as pdf:
        assert [float(edge) for edge in pdf.pages[0].MediaBox] == [0, 0, 612, 792]


def test_the_quote_links_to_the_page_where_it_is_accepted():
    url = PAPERS["quote"]()["accept"]["url"]
    with pikepdf.open(io.BytesIO(render("quote", PAPERS["quote"]()))) as pdf:
        links = [str(a.A.URI) for page in pdf.pages for a in page.get("/Annots", []) if "/A" in a]
    assert url in links


def test_the_square_code_is_the_standard_one_for_its_address():
    url = "https://otterbank.example/quotes/7Jq3p0aXvY2n"
    side = segno.make(url, error="m", micro=False).symbol_size(border=0)[0]
    assert f'viewBox="0 0 {side} {side}"' in square_code(url) or f'width="{side}"' in square_code(url)
    assert square_code(url) != square_code(url + "x")


def test_a_page_of_the_quote_is_not_blank():
    shown = subprocess.run(
        ["pdftoppm", "-r", "40", "-png", "-f", "1", "-l", "1", "-"],
        input=render("quote", PAPERS["quote"]()),
        capture_output=True,
        check=True,
    )
    page = Image.open(io.BytesIO(shown.stdout)).convert("L")
    inked = sum(page.histogram()[:200]) / (page.width * page.height)
    assert 0.03 < inked < 0.4
