"""The ask page for people: what is left open is asked for later, units as chosen, errors at the field, nothing lost."""

import re

import pytest

from orders.models import Enquiry
from quoting.services.estimating import lacking
from tests.portal.pages import ASKED, PERSON, Fields

VW = {
    **PERSON,
    "use": "flight",
    "airframe_name": "One-off of my own",
    "engine": "vw-1600",
    "wish": "recommend",
}
CUB = {"airframe": "piper-j-3c-65", "engine": "continental-a65-8f", "wish": "recommend"}


def answered(client, **typed: str) -> str:
    """The live answer."""
    return client.post("/ask/estimate", typed).content.decode()


def test_an_untouched_page_warns_of_nothing(anyone):
    answer = answered(anyone, use="flight", wish="recommend", length_unit="in")
    assert "A price and a date still need" in answer
    assert "wants mending" not in answer and "data-field" not in answer


@pytest.mark.parametrize(
    ("left_open", "named"),
    [
        ({}, "top speed in level flight"),
        ({"wish": "engine-only"}, "top speed in level flight"),
        ({"engine": ""}, "needs the engine"),
        ({"use": "display", "engine": "", "wish": "copy", "diameter": "108"}, "Give the pitch in inches"),
    ],
)
def test_what_is_left_open_is_stored_without_price_and_the_workshop_asks(anyone, left_open, named):
    page = anyone.post("/ask/", {**VW, **left_open}, follow=True).content.decode()
    enquiry = Enquiry.objects.get()
    assert enquiry.specification is None and enquiry.estimate is None
    assert "No price and no date yet" in page and named in page
    assert "EUR" not in page and "Plan on" not in page
    assert any(named in finding.message for finding in lacking(enquiry.typed))


def test_what_is_open_does_not_excuse_what_is_wrong(anyone):
    response = anyone.post("/ask/", {**VW, "power": "lots"})
    assert response.status_code == 422
    assert Fields(response.content.decode()).invalid == {"power"}
    assert not Enquiry.objects.exists()


def test_the_owner_can_ask_back_for_what_was_left_open(anyone, owner):
    anyone.post("/ask/", VW)
    enquiry = Enquiry.objects.get()
    page = owner.get(f"/desk/enquiries/{enquiry.number}/").content.decode()
    question = re.search(r'name="question"[^>]*>(.*?)</textarea>', page, re.S).group(1)
    assert "top speed in level flight" in question and "Change what I asked" in question
    anyone.post(f"/enquiry/{enquiry.token}/change/", {**VW, "top_speed": "110 mph", "send": "1"})
    enquiry.refresh_from_db()
    assert enquiry.estimate["price"]["currency"] == "EUR"


def test_what_cannot_be_read_is_tied_to_its_field_live(anyone):
    answer = answered(anyone, **CUB, power="50 horses")
    assert re.search(r'data-field="power">.*?65, or one with its unit, such as 48 kW', answer, re.S)


def test_the_other_unit_converts_what_was_typed_and_keeps_the_rest(anyone):
    typed = {
        **ASKED,
        "length_unit": "in",
        "hub_height": "54",
        "circle": "4-3/8",
        "pilot": "",
        "boss_diameter": "152 mm",
    }
    response = anyone.post("/ask/", {**typed, "remark": "Half written", "units": "mm"})
    page = response.content.decode()
    values = Fields(page).values
    assert [values[n] for n in ("hub_height", "circle", "boss_diameter", "pilot", "length_unit")] == [
        *("1371.6", "111.13", "152 mm", "", "mm")
    ]
    assert (values["remark"], values["name"], values["email"]) == (
        "Half written",
        "Alice Wren",
        "alice@example.org",
    )
    assert response.cookies["units"].value == "mm"
    assert not Enquiry.objects.exists()
    back = Fields(anyone.post("/ask/", {**values, "units": "in"}).content.decode()).values
    assert (back["hub_height"], back["circle"], back["diameter"]) == ("54", "4-3/8", "72")


def test_lengths_show_their_unit_and_the_answer_speaks_in_it(anyone):
    metric = anyone.post("/ask/", {**ASKED, "look": "1", "units": "mm", "length_unit": "in"}).content.decode()
    assert re.search(r'name="hub_height"[^>]*><span class="unit" aria-hidden="true">mm<', metric)
    assert re.search(r"1829 x 1118 mm \(72 x 44 in\)", metric)
    findings = re.search(r'id="findings">.*?</section>', metric, re.S).group()
    assert "km/h" in findings and " mph" not in findings and " psi" not in findings


def test_changing_an_enquiry_in_the_other_unit_keeps_its_address(anyone, shop):
    enquiry = shop.enquiry()
    posted = {**ASKED, "length_unit": "in", "units": "mm"}
    page = anyone.post(f"/enquiry/{enquiry.token}/change/", posted).content.decode()
    assert Fields(page).values["diameter"] == "1828.8"
    assert f'value="{enquiry.address["email"]}"' in page


def test_a_display_timber_has_no_price_for_flight_and_the_enquiry_still_goes(anyone):
    answer = answered(anyone, **{**ASKED, "timber": "yellow-poplar"})
    assert 'class="finding stop"' in answer and "kept for display pieces" in answer
    assert "Price, not yet binding" not in answer
    assert anyone.post("/ask/", {**ASKED, "timber": "yellow-poplar"}).status_code == 302
    assert "Price, not yet binding" in answered(
        anyone, **{**ASKED, "timber": "yellow-poplar", "use": "display"}
    )


def test_a_rush_says_beside_the_price_that_it_costs_more(anyone):
    plain, rush = answered(anyone, **ASKED), answered(anyone, **ASKED, rush="on")
    headline = re.search(r"answer-figures.*?</section>", rush, re.S).group()
    assert "surcharge is not in this price" in headline
    assert "surcharge is not in this price" not in plain
    assert "before rush" in rush and "before rush" not in plain


def test_without_a_country_the_answer_names_the_one_it_took(anyone):
    answer = answered(anyone, **{**ASKED, "country": ""})
    assert "Country not chosen: tax and freight are those of Germany." in answer
    assert "Country not chosen" not in answered(anyone, **ASKED)


@pytest.mark.parametrize("wish", ["recommend", "engine-only"])
def test_the_size_shown_has_one_set_of_figures(anyone, wish):
    answer = answered(anyone, **{**CUB, "wish": wish}, country="DE").replace("\u202f", "")
    shown = re.search(r"\(shown here\).*?standing (\d+) rev/min, flat out (\d+);", answer, re.S).groups()
    standing = re.search(r"Standing at full throttle we expect (\d+) rpm", answer).group(1)
    flat_out = re.search(r"At top speed the engine gets to (\d+) rpm", answer).group(1)
    assert shown == (standing, flat_out)


def test_the_bar_on_a_phone_tells_sum_and_day_and_leads_to_the_answer(anyone):
    bar = re.search(r'id="answer-bar".*?</div>', answered(anyone, **ASKED), re.S).group()
    assert "EUR" in bar and "plan on" in bar and 'href="#answer"' in bar
    assert "No price yet" in re.search(r'id="answer-bar".*?</div>', answered(anyone, **VW), re.S).group()


def test_as_you_asked_reads_in_words_with_units_at_their_figures(anyone):
    typed = {**ASKED, "guard": "brass", "hub_height": "54", "free_radius": "1 000 mm", "speed_unit": "kt"}
    page = anyone.post("/ask/", {**typed, "top_speed": "87"}, follow=True).content.decode()
    asked = re.search(r"As you asked.*?</dl>", page, re.S).group()
    for words in ("54 inches<", "1 000 mm<", "87 knots<", "Germany", "Yellow birch"):
        assert words in asked
    for code in (">DE<", ">brass<", "continental-a65-8f", "yellow-birch", "Speeds in", "Lengths in"):
        assert code not in asked


def test_enter_in_a_field_answers_and_sends_nothing(anyone):
    page = anyone.get("/ask/").content.decode()
    form = page[page.index('id="ask"') :]
    first = re.search(r"<button[^>]*>", form).group()
    assert 'name="look"' in first
