"""The draft of a review: one for all sessions, nothing typed lost, and only what the page showed is sent."""

from datetime import timedelta

import pytest
from django.contrib.auth.models import User

from orders.models import AuditRecord, Enquiry
from orders.services import review
from orders.services.enquiry import change_enquiry
from orders.who import by_link
from quoting.models import Quote
from quoting.services.quotes import results_of
from tests.desk.test_review import OWN_LINE, TERMS, change, nothing_is_changed, price_now, send, terms
from tests.orders.shop import ADDRESS, TYPED, Shop
from tests.portal.conftest import signed_in
from tests.portal.pages import Fields


def page_at(client, enquiry: Enquiry):
    return client.get(f"/desk/enquiries/{enquiry.number}/")


def post(client, enquiry: Enquiry, verb: str, **form: str):
    return client.post(f"/desk/enquiries/{enquiry.number}/{verb}/", form)


@pytest.fixture
def elsewhere(shop: Shop):
    """The owner at another machine."""
    return signed_in(User.objects.get(username="owner"))


def test_a_change_stands_in_every_session(owner, elsewhere, shop: Shop):
    enquiry = shop.enquiry()
    terms(owner, enquiry, discount_percent="5", discount_reason="Second order")
    assert "discount" in {line.key for line in price_now(elsewhere, enquiry).lines}


def test_a_page_shown_before_the_price_changed_elsewhere_sends_nothing_and_shows_the_price_anew(
    owner, elsewhere, shop: Shop
):
    enquiry = shop.enquiry()
    shown = page_at(owner, enquiry).context["shown"]
    terms(elsewhere, enquiry, discount_percent="5", discount_reason="Second order")
    refused = post(owner, enquiry, "send", shown=shown, message="With pleasure")
    page = refused.content.decode()
    assert refused.status_code == 422 and not Quote.objects.exists()
    assert "has changed since this page was shown" in page and "With pleasure" in page
    assert refused.context["shown"] != shown and "Second order" in page
    assert send(owner, enquiry).status_code == 302


def test_what_the_customer_changed_meanwhile_is_looked_at_before_it_is_sent(owner, shop: Shop):
    enquiry = shop.enquiry()
    shown = page_at(owner, enquiry).context["shown"]
    change_enquiry(
        by_link("Alice Wren"), enquiry, typed={**TYPED, "diameter": "74"}, specification=None, estimate=None,
        address=ADDRESS, now=shop.later(minutes=5),
    )  # fmt: skip
    assert post(owner, enquiry, "send", shown=shown).status_code == 422
    assert not Quote.objects.exists()


@pytest.mark.parametrize("shown", ["", "0" * 64])
def test_nothing_is_sent_that_no_page_showed(owner, shop: Shop, shown):
    assert post(owner, shop.enquiry(), "send", shown=shown).status_code == 422
    assert not Quote.objects.exists()


def test_a_revision_starts_from_what_was_last_sent(owner, shop: Shop):
    enquiry, day = shop.enquiry(), shop.today + timedelta(days=300)
    terms(owner, enquiry, discount_percent="5", discount_reason="Second order", rush="120", insured="on")
    change(owner, enquiry, line="timber", quantity="3")
    owner.post(f"/desk/enquiries/{enquiry.number}/add-line/", OWN_LINE)
    send(owner, enquiry, promised_for=day.isoformat())
    sent = Quote.objects.get()
    page = page_at(owner, enquiry)
    assert page.context["price"].gross == sent.gross
    assert page.context["price"].lines == results_of(sent).price.lines
    assert f"It starts from {sent.reference} with all that was changed there" in page.content.decode()
    assert page.context["send"]["promised_for"].value() == day
    assert send(owner, enquiry).status_code == 302
    assert [q.gross_minor for q in Quote.objects.all()] == [sent.gross_minor] * 2


def test_every_change_can_be_taken_back_at_once(owner, shop: Shop):
    enquiry = shop.enquiry()
    before = price_now(owner, enquiry)
    terms(owner, enquiry, discount_percent="5", discount_reason="Second order")
    send(owner, enquiry)
    post(owner, enquiry, "undo", key="all")
    assert price_now(owner, enquiry) == before and nothing_is_changed(enquiry)


def test_words_typed_in_one_form_outlive_the_sending_of_another_and_the_session(owner, elsewhere, shop: Shop):
    enquiry = shop.enquiry()
    line = {"line": "timber", "quantity": "3", "rate": "", "reason": "Own stock"}
    went = post(
        owner, enquiry, "line", **line, message="Drafted with care", question="Which bushings?", body=""
    )
    assert went.status_code == 302
    fields = Fields(page_at(elsewhere, enquiry).content.decode()).values
    assert (fields["message"], fields["question"]) == ("Drafted with care", "Which bushings?")
    assert (fields["quantity"], fields["reason"]) == ("", "")
    post(owner, enquiry, "ask-back", question="Which bushings?", message="Drafted with care")
    fields = Fields(page_at(owner, enquiry).content.decode()).values
    assert (fields["message"], fields["question"]) == ("Drafted with care", "")


def test_the_key_that_enter_presses_sends_and_changes_nothing(owner, shop: Shop):
    enquiry = shop.enquiry()
    page = page_at(owner, enquiry).content.decode()
    form = page[page.index('id="review"') :]
    first = form[form.index("<button") :].partition(">")[0]
    assert "formaction" not in first and f'action="/desk/enquiries/{enquiry.number}/keep/"' in page
    post(owner, enquiry, "keep", message="Half a word", **TERMS | {"rush": "50"})
    fields = Fields(page_at(owner, enquiry).content.decode()).values
    assert (fields["message"], fields["rush"]) == ("Half a word", "50")
    assert nothing_is_changed(enquiry) and not Quote.objects.exists()


def test_a_discount_typed_but_not_worked_in_keeps_the_quote_back(owner, shop: Shop):
    enquiry = shop.enquiry()
    typed = TERMS | {"discount_percent": "5", "discount_reason": "Second order"}
    refused = send(owner, enquiry, **typed)
    assert refused.status_code == 422 and "not worked into the price" in refused.content.decode()
    assert not Quote.objects.exists()
    assert send(owner, enquiry, **TERMS).status_code == 302


def test_the_page_sent_as_it_was_opened_has_nothing_unfinished(owner, shop: Shop):
    enquiry = shop.enquiry()
    page = page_at(owner, enquiry)
    fields = Fields(page.content.decode()).values
    chosen = {"category": page.context["extra"]["category"].value(), "line": "timber"}
    assert owner.post(f"/desk/enquiries/{enquiry.number}/send/", fields | chosen).status_code == 302


def test_a_price_below_its_cost_is_sent_only_with_a_tick_which_the_record_keeps(owner, shop: Shop):
    enquiry = shop.enquiry()
    terms(owner, enquiry, discount_percent="99", discount_reason="A friend")
    assert "below its cost" in page_at(owner, enquiry).content.decode()
    refused = send(owner, enquiry)
    assert (refused.status_code, Fields(refused.content.decode()).invalid) == (422, {"below_cost"})
    assert not Quote.objects.exists()
    assert send(owner, enquiry, below_cost="on").status_code == 302
    assert AuditRecord.objects.get(verb="send knowingly").reason == "below cost"


def test_a_day_sooner_than_the_plans_is_promised_only_with_a_tick(owner, shop: Shop):
    enquiry = shop.enquiry()
    plan_on = page_at(owner, enquiry).context["forecast"].plan_on
    sooner = (plan_on - timedelta(days=1)).isoformat()
    refused = send(owner, enquiry, promised_for=sooner)
    assert (refused.status_code, Fields(refused.content.decode()).invalid) == (422, {"sooner"})
    assert send(owner, enquiry, promised_for=sooner, sooner="on").status_code == 302
    assert AuditRecord.objects.get(verb="send knowingly").reason == "sooner than the plan"
    other = shop.enquiry()
    assert send(owner, other, promised_for=plan_on.isoformat()).status_code == 302


def test_a_fault_is_summed_up_at_the_top_and_the_page_opens_at_its_field(owner, shop: Shop):
    enquiry = shop.enquiry()
    page = change(owner, enquiry, line="timber", quantity="-1").content.decode()
    assert page.index('id="errors"') < page.index('id="findings"')
    assert '<a href="#lineform-quantity">' in page
    [focused] = [tag for tag in page.split("<") if " autofocus" in tag]
    assert 'name="quantity"' in focused


def test_a_change_done_leads_back_to_the_price(owner, shop: Shop):
    enquiry = shop.enquiry()
    assert change(owner, enquiry, line="timber", quantity="3").headers["Location"].endswith("/#price")
    assert post(owner, enquiry, "ask-back", question="Which?").headers["Location"].endswith("/#messages")


def test_a_line_is_picked_from_the_price_with_what_is_typed_kept(owner, shop: Shop):
    enquiry = shop.enquiry()
    went = post(owner, enquiry, "keep", pick="labour.varnish", message="Kept")
    assert went.headers["Location"].endswith("?line=labour.varnish#change")
    fields = Fields(owner.get(went.headers["Location"]).content.decode()).values
    assert fields["message"] == "Kept"


def test_what_was_asked_stands_in_words_with_its_units_and_the_customers_own_apart(owner, shop: Shop):
    enquiry = shop.enquiry(remark="It hung in my grandfather's barn", cruise_speed="92", speed_unit="kt")
    page = page_at(owner, enquiry).content.decode()
    for words in ("Continental A-65-8F", "92 k", "I know diameter and pitch", "72 in"):
        assert words in page
    assert "continental-a65-8f" not in page
    assert "In the customer's words" in page and "my grandfather&#x27;s barn" in page


def test_changes_that_no_longer_fit_what_is_asked_can_be_taken_back_where_that_is_said(owner, shop: Shop):
    enquiry = shop.enquiry()
    changes = {**review.NOTHING, "overrides": {"timber": {"reason": "", "quantity": "1", "rate": None}}}
    review.keep(shop.owner, enquiry, changes, now=shop.now)
    page = page_at(owner, enquiry)
    assert page.context["refused"] and "Take back every change" in page.content.decode()
    post(owner, enquiry, "undo", key="all")
    assert price_now(owner, enquiry)


def test_what_the_date_waits_on_is_told_in_the_workshops_words(owner, shop: Shop):
    page = page_at(owner, shop.enquiry()).content.decode()
    assert "the customer's approval of the drawing" in page.replace("&#x27;", "'")
    assert "your deposit" not in page and "ahead of yours" not in page
