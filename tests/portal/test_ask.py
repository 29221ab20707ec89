"""The ask page: an answer while typing, an enquiry when sent, an error at the field when something is wrong."""

import io

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from orders.models import Enquiry, Mail
from portal.forms.ask import AskForm
from tests.portal.pages import ASKED, Fields

NUMBERS = (
    *(
        "quantity",
        "top_speed",
        "cruise_speed",
        "hub_height",
        "free_radius",
        "power",
        "engine_rpm",
        "gear_ratio",
        "bolts",
        "circle",
    ),
    *(
        "hole",
        "pilot",
        "lug_diameter",
        "lug_depth",
        "boss_diameter",
        "boss_thickness",
        "clocking",
        "diameter",
    ),
    *(
        "face_plate_thickness",
        "spacer_thickness",
        "spinner_diameter",
        "bolt_length",
        "pitch",
        "pitch_station",
    ),
    *("altitude", "lamination_thickness", "moisture", "humidity", "temperature", "decal_station"),
)
CHOICES = (
    *(
        "use",
        "airframe",
        "category",
        "speed_unit",
        "gear",
        "engine",
        "power_unit",
        "position",
        "hand",
        "rotation",
        "length_unit",
    ),
    *("hub", "wish", "altitude_unit", "timber", "glue", "finish", "guard", "tip_form", "country", "delivery"),
)
BAD_NUMBERS = ("1e9", "NaN", "-5", "٧٢", "🛩", "7" * 10_000, "999999999", "inf", "72; drop", "\x00")


def png(size: tuple[int, int] = (40, 20)) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "#c98a3a").save(out, "PNG")
    return out.getvalue()


def test_the_page_shows_every_section_and_a_caution(anyone):
    page = anyone.get("/ask/").content.decode()
    assert all(f'<span class="section-number">{n}</span>' in page for n in range(1, 9))
    assert "They are not an approval" in page


def test_an_answer_comes_with_price_date_drawing_and_findings(anyone):
    page = anyone.post("/ask/estimate", ASKED).content.decode()
    assert "72 x 44" in page
    assert "drawing-plan" in page
    assert "Plan on" in page
    assert "EUR" in page
    assert "no approval" in page


def test_an_answer_stores_nothing(anyone):
    anyone.post("/ask/estimate", ASKED)
    assert not Enquiry.objects.exists()


def test_without_scripts_the_button_answers_and_keeps_what_was_typed(anyone):
    response = anyone.post("/ask/", {**ASKED, "look": "1"})
    fields = Fields(response.content.decode())
    assert response.status_code == 200
    assert (fields.values["diameter"], fields.values["name"]) == ("72", "Alice Wren")
    assert b"drawing-plan" in response.content
    assert not Enquiry.objects.exists()


def test_an_offered_size_is_taken_with_its_button(anyone):
    typed = {**ASKED, "wish": "recommend", "diameter": "", "pitch": "", "take": "1.8288;1.1176"}
    fields = Fields(anyone.post("/ask/", typed).content.decode())
    assert (fields.values["diameter"], fields.values["pitch"], fields.values["wish"]) == (
        "72.0",
        "44.0",
        "known",
    )


def test_sending_stores_the_enquiry_and_leads_to_its_own_page(anyone):
    response = anyone.post("/ask/", ASKED, follow=True)
    enquiry = Enquiry.objects.get()
    assert response.redirect_chain[-1][0] == f"/enquiry/{enquiry.token}/"
    assert enquiry.typed["diameter"] == "72"
    assert enquiry.estimate["price"]["currency"] == "EUR"
    assert Mail.objects.filter(to="alice@example.org", body__contains=enquiry.token).exists()


@pytest.mark.parametrize("bad", BAD_NUMBERS, ids=range(len(BAD_NUMBERS)))
def test_bad_numbers_are_named_at_every_field_kept_and_nothing_is_stored(anyone, bad):
    response = anyone.post("/ask/", {**ASKED, **dict.fromkeys(NUMBERS, bad)})
    fields = Fields(response.content.decode())
    assert response.status_code == 422
    assert fields.invalid == set(NUMBERS)
    assert fields.values["email"] == "alice@example.org"
    if bad.isprintable():
        assert {fields.values[name] for name in NUMBERS} == {bad}
    assert not Enquiry.objects.exists()


def test_choices_that_are_not_offered_are_refused_at_every_field(anyone):
    response = anyone.post("/ask/", {**ASKED, **dict.fromkeys(CHOICES, "no-such-thing")})
    assert response.status_code == 422
    assert set(response.context["form"].errors) >= set(CHOICES)
    assert not Enquiry.objects.exists()


@pytest.mark.parametrize("name", ["airframe_name", "engine_name", "decal_text"])
@pytest.mark.parametrize("bad", ["x" * 10_000, "🛩 Otter", "two\nlines"])
def test_words_that_cannot_be_printed_are_refused_at_their_field(anyone, name, bad):
    response = anyone.post("/ask/", {**ASKED, name: bad})
    assert response.status_code == 422
    assert name in Fields(response.content.decode()).invalid
    assert not Enquiry.objects.exists()


@pytest.mark.parametrize(
    ("name", "bad"),
    [
        ("name", ""),
        ("name", "x" * 10_000),
        ("email", ""),
        ("email", "alice"),
        ("email", "a@b"),
        ("country", ""),
    ],
)
def test_the_person_is_checked_too(anyone, name, bad):
    response = anyone.post("/ask/", {**ASKED, name: bad})
    assert response.status_code == 422
    assert name in Fields(response.content.decode()).invalid
    assert not Enquiry.objects.exists()


@pytest.mark.parametrize(
    ("contradiction", "field"),
    [
        ({"cruise_speed": "140"}, "cruise_speed"),
        ({"wish": "recommend"}, "wish"),
        ({"pitch": "150"}, "pitch"),
        ({"boss_diameter": "3"}, "boss_diameter"),
        ({"bolts": "8"}, "bolts"),
    ],
)
def test_contradictions_are_told_at_a_field(anyone, contradiction, field):
    response = anyone.post("/ask/", {**ASKED, **contradiction})
    assert response.status_code == 422
    assert str(AskForm.base_fields[field].label) in response.content.decode()
    assert not Enquiry.objects.exists()


def test_a_picture_is_drawn_anew_and_shown_by_link_only(anyone):
    upload = SimpleUploadedFile("../../otter.html", png(), "text/html")
    anyone.post("/ask/", {**ASKED, "decal_picture": upload})
    enquiry = Enquiry.objects.get()
    shown = anyone.get(f"/enquiry/{enquiry.token}/picture/")
    assert enquiry.typed["decal_picture"].startswith("decals/")
    assert shown.headers["Content-Type"] == "image/png"
    assert b"".join(shown.streaming_content).startswith(b"\x89PNG")


@pytest.mark.parametrize(
    "content", [b"<svg onload='x'/>", b"\x89PNG\r\n\x1a\n" + b"\x00" * 50, b"GIF89a", b"", png()[:60]]
)
def test_a_file_that_is_no_picture_is_refused_at_its_field(anyone, content):
    response = anyone.post(
        "/ask/", {**ASKED, "decal_picture": SimpleUploadedFile("p.png", content, "image/png")}
    )
    assert response.status_code == 422
    assert "decal_picture" in Fields(response.content.decode()).invalid
    assert not Enquiry.objects.exists()
    assert not default_storage.exists("decals")


def test_a_stop_withholds_price_and_date_and_still_lets_one_ask(anyone):
    risky = {**ASKED, "engine_rpm": "4500"}
    page = anyone.post("/ask/estimate", risky).content.decode()
    assert 'class="finding stop"' in page
    assert "Price, not yet binding" not in page
    assert anyone.post("/ask/", risky).status_code == 302


@pytest.mark.parametrize("category", ["type-certificated", "unknown"])
def test_a_certificated_or_unknown_airframe_is_cautioned_in_words(anyone, category):
    page = anyone.post("/ask/estimate", {**ASKED, "category": category}).content.decode()
    assert "approved data" in page
    assert "licensed mechanic" in page


def test_millimetres_at_the_switch_reach_the_drawing(anyone):
    anyone.post("/units/", {"units": "mm", "next": "/ask/"})
    page = anyone.post("/ask/estimate", ASKED).content.decode()
    assert "mm (72 in)" in page
