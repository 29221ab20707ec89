"""The review at the desk: what it shows, lines changed with a reason, stops overridden in writing, quotes sent."""

import math
from datetime import timedelta
from decimal import Decimal

import pytest

from orders import worker
from orders.desk.forms import SendForm
from orders.desk.review_forms import (
    AskBackForm,
    DeclineForm,
    ExtraForm,
    LineForm,
    OverrideForm,
    TermsForm,
    WriteForm,
)
from orders.models import Enquiry, Mail, OutboxJob
from orders.services import review
from orders.services.comparing import compare
from quoting.models import Quote, Timber
from quoting.services import catalogue as held
from tests.orders.shop import Shop
from tests.portal.pages import Fields

LARGER_BOSS_THAN_BLADE = {"diameter": "20", "pitch": "10"}
ODD = ["-5", "1e9", "NaN", "99999999999999999999", "\u0661\u0662", "\N{AIRPLANE}", "0x10"]


def page_of(client, enquiry: Enquiry) -> str:
    return client.get(f"/desk/enquiries/{enquiry.number}/").content.decode()


def change(client, enquiry: Enquiry, **form: str):
    whole = {"line": "labour", "quantity": "", "rate": "", "reason": "Agreed on the telephone"} | form
    return client.post(f"/desk/enquiries/{enquiry.number}/line/", whole)


def send(client, enquiry: Enquiry, **form: str):
    """Press Send on the page as it stands now."""
    shown = client.get(f"/desk/enquiries/{enquiry.number}/").context["shown"]
    return client.post(f"/desk/enquiries/{enquiry.number}/send/", {"shown": shown} | form)


def nothing_is_changed(enquiry: Enquiry) -> bool:
    return review.changes_of(enquiry) == review.NOTHING


def a_line(client, enquiry: Enquiry) -> str:
    return client.get(f"/desk/enquiries/{enquiry.number}/").context["price"].lines[0].key


def test_the_review_shows_findings_cost_margin_and_the_lines_workings(owner, shop: Shop):
    enquiry = shop.enquiry()
    response = owner.get(f"/desk/enquiries/{enquiry.number}/")
    page, price = response.content.decode(), response.context["price"]
    for words in ("Findings", "Price, cost and margin", "price book 2026-1", "geometry: blade_surface"):
        assert words in page
    assert f"({100 * price.margin.amount / price.net.amount:.0f} %)" in page
    assert all(line.label in page for line in price.lines)


def test_sending_makes_a_sent_quote_and_one_mail_with_its_link(owner, shop: Shop):
    enquiry = shop.enquiry()
    response = send(owner, enquiry, message="With pleasure")
    sent = Quote.objects.get()
    assert response.status_code == 302
    assert (sent.state, sent.series.enquiry.number) == (Quote.State.SENT, enquiry.number)
    mail = Mail.objects.get(kind="quote-sent")
    assert mail.to == "alice@example.org" and sent.token in mail.body


def test_a_changed_line_stands_on_the_page_with_its_reason_and_goes_into_the_quote(owner, shop: Shop):
    enquiry = shop.enquiry()
    key = a_line(owner, enquiry)
    assert change(owner, enquiry, line=key, quantity="0").status_code == 302
    assert "Agreed on the telephone" in page_of(owner, enquiry)
    send(owner, enquiry)
    stored = {line["key"]: line for line in Quote.objects.get().results["price"]["lines"]}
    assert stored[key]["reason"] == "Agreed on the telephone"


@pytest.mark.parametrize("reason", ["", "   "])
def test_a_change_without_a_reason_is_refused_at_the_reason_and_keeps_what_was_typed(owner, shop, reason):
    enquiry = shop.enquiry()
    response = change(owner, enquiry, line=a_line(owner, enquiry), rate="12.5", reason=reason)
    fields = Fields(response.content.decode())
    assert (response.status_code, fields.invalid, fields.values["rate"]) == (422, {"reason"}, "12.5")
    assert nothing_is_changed(enquiry)


@pytest.mark.parametrize("field", ["quantity", "rate"])
def test_an_odd_number_is_refused_at_its_field(field):
    for typed in [*ODD, "1,000", "1.2.3", "0.1234567", "1" * 30]:
        whole = {"line": "timber", "reason": "x", field: typed}
        assert set(LineForm(whole, lines=[("timber", "timber")]).errors) == {field}, typed


def test_an_odd_number_on_the_page_keeps_what_was_typed_and_changes_nothing(owner, shop: Shop):
    enquiry = shop.enquiry()
    response = change(owner, enquiry, line=a_line(owner, enquiry), rate="1e9", quantity="2")
    fields = Fields(response.content.decode())
    assert (response.status_code, fields.invalid) == (422, {"rate"})
    assert (fields.values["rate"], fields.values["quantity"]) == ("1e9", "2")
    assert nothing_is_changed(enquiry)


def test_a_change_of_nothing_or_of_another_quotes_line_is_refused(owner, shop: Shop):
    enquiry = shop.enquiry()
    assert Fields(change(owner, enquiry, line=a_line(owner, enquiry)).content.decode()).invalid == {
        "quantity"
    }
    assert change(owner, enquiry, line="nobody.has.this", quantity="1").status_code == 422
    assert nothing_is_changed(enquiry)


def weaken(code: str) -> None:
    """A timber with a hundredth of its strength: every blade of it is stopped, and the owner may know better."""
    timber = Timber.objects.get(code=code)
    for name in ("modulus_of_rupture", "compression_parallel"):
        timber.values[name] = {**timber.values[name], "value": timber.values[name]["value"] / 100}
    timber.save()


def test_a_stop_withholds_the_price_until_it_is_overridden_in_writing(owner, shop: Shop, monkeypatch):
    monkeypatch.setattr(held, "_held", None)
    weaken("yellow-birch")
    enquiry = shop.enquiry()
    before = owner.get(f"/desk/enquiries/{enquiry.number}/")
    assert before.context["stopped"] and before.context["price"] is None
    owner.post(f"/desk/enquiries/{enquiry.number}/override/", {"override_reason": "  "})
    refused = send(owner, enquiry, message="Typed with care")
    assert refused.status_code == 422 and "Typed with care" in refused.content.decode()
    assert not Quote.objects.exists()
    owner.post(
        f"/desk/enquiries/{enquiry.number}/override/", {"override_reason": "Governed to 2400 in the air"}
    )
    send(owner, enquiry)
    assert Quote.objects.get().override_reason == "Governed to 2400 in the air"


def test_a_stop_that_leaves_no_price_is_not_called_overridden(owner, shop: Shop):
    enquiry = shop.enquiry(**LARGER_BOSS_THAN_BLADE)
    said = owner.post(
        f"/desk/enquiries/{enquiry.number}/override/", {"override_reason": "All the same"}, follow=True
    )
    assert "No writing lifts this stop" in said.content.decode()
    assert nothing_is_changed(enquiry)


def test_nothing_can_be_overridden_before_a_stop_stands(owner, shop: Shop):
    enquiry = shop.enquiry()
    said = owner.post(
        f"/desk/enquiries/{enquiry.number}/override/", {"override_reason": "Just in case"}, follow=True
    )
    assert "No stop stands" in said.content.decode()
    assert nothing_is_changed(enquiry)


@pytest.mark.parametrize("typed", ["2020-01-01", "9999-12-31", "tomorrow", "\u0662\u0660\u0662\u0667-01-01"])
def test_an_odd_day_to_promise_is_refused_at_the_field(typed):
    assert set(SendForm({"promised_for": typed, "message": "Mine"}).errors) == {"promised_for"}


def test_an_odd_day_on_the_page_keeps_the_word_to_the_customer_and_sends_nothing(owner, shop: Shop):
    enquiry = shop.enquiry()
    response = owner.post(
        f"/desk/enquiries/{enquiry.number}/send/", {"promised_for": "tomorrow", "message": "Mine"}
    )
    fields = Fields(response.content.decode())
    assert (response.status_code, fields.invalid) == (422, {"promised_for"})
    assert fields.values["message"] == "Mine" and not Quote.objects.exists()


def test_a_promised_day_stands_in_the_quote(owner, shop: Shop):
    enquiry, day = shop.enquiry(), shop.today + timedelta(days=90)
    send(owner, enquiry, promised_for=day.isoformat())
    assert Quote.objects.get().promised_for == day


@pytest.mark.parametrize(
    ("verb", "field"), [("ask-back", "question"), ("decline", "refusal"), ("write", "body")]
)
def test_ten_thousand_characters_are_refused_at_the_field_and_kept(owner, shop, verb, field):
    enquiry, typed = shop.enquiry(), "x" * 10_000
    response = owner.post(f"/desk/enquiries/{enquiry.number}/{verb}/", {field: typed})
    fields = Fields(response.content.decode())
    enquiry.refresh_from_db()
    assert (response.status_code, fields.invalid, enquiry.state) == (422, {field}, Enquiry.State.NEW)
    assert fields.values[field] == typed and not enquiry.messages.exists()


def test_empty_words_are_refused():
    for form, field in (
        (AskBackForm, "question"),
        (DeclineForm, "refusal"),
        (WriteForm, "body"),
        (OverrideForm, "override_reason"),
    ):
        assert set(form({field: " "}).errors) == {field}


def test_an_enquiry_is_declined_with_the_words_the_customer_reads(owner, shop: Shop):
    enquiry = shop.enquiry()
    owner.post(f"/desk/enquiries/{enquiry.number}/decline/", {"refusal": "Too fast for wood"})
    enquiry.refresh_from_db()
    assert (enquiry.state, enquiry.reason) == (Enquiry.State.DECLINED, "Too fast for wood")


def test_a_question_waits_for_the_customers_answer(owner, anyone, shop: Shop):
    enquiry = shop.enquiry()
    owner.post(f"/desk/enquiries/{enquiry.number}/ask-back/", {"question": "Which bushings?"})
    assert "Which bushings?" in anyone.get(f"/enquiry/{enquiry.token}/").content.decode()
    anyone.post(f"/enquiry/{enquiry.token}/answer/", {"text": "Six of 13/16"})
    enquiry.refresh_from_db()
    assert enquiry.state == Enquiry.State.NEW and "Six of 13/16" in page_of(owner, enquiry)


TERMS = {
    "discount_percent": "",
    "discount_amount": "",
    "discount_reason": "",
    "rush": "",
    "deposit_percent": "",
}


def terms(client, enquiry: Enquiry, **form: str):
    return client.post(f"/desk/enquiries/{enquiry.number}/terms/", TERMS | form)


def price_now(client, enquiry: Enquiry):
    return client.get(f"/desk/enquiries/{enquiry.number}/").context["price"]


def test_discount_rush_deposit_insurance_and_duty_are_lines_of_the_quote(owner, shop: Shop):
    enquiry = shop.enquiry()
    before = {line.key for line in price_now(owner, enquiry).lines}
    given = {
        "discount_percent": "5",
        "discount_reason": "Second order",
        "rush": "120",
        "deposit_percent": "50",
    }
    assert terms(owner, enquiry, **given, insured="on", duty_paid="on").status_code == 302
    price = price_now(owner, enquiry)
    added = {line.key for line in price.lines} - before
    assert (
        {"discount", "rush", "freight.insurance", "freight.duty"}
        >= added
        >= {"discount", "rush", "freight.insurance"}
    )
    assert price.deposit == price.gross.times(Decimal("0.5"))
    send(owner, enquiry)
    sent = Quote.objects.get()
    assert sent.net == price.net
    assert any(line["reason"] == "Second order" for line in sent.results["price"]["lines"])


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"discount_percent": "101", "discount_reason": "x"}, "discount_percent"),
        ({"discount_percent": "-5", "discount_reason": "x"}, "discount_percent"),
        ({"discount_percent": "NaN", "discount_reason": "x"}, "discount_percent"),
        ({"discount_percent": "5"}, "discount_reason"),
        ({"discount_percent": "5", "discount_amount": "5", "discount_reason": "x"}, "discount_amount"),
        ({"rush": "1e9"}, "rush"),
        ({"rush": "\u0661"}, "rush"),
        ({"deposit_percent": "120"}, "deposit_percent"),
        ({"discount_percent": "5", "discount_reason": "x" * 10_000}, "discount_reason"),
    ],
)
def test_odd_terms_are_refused_at_their_field(typed, field):
    assert set(TermsForm(TERMS | typed, currency="EUR").errors) == {field}


def test_a_discount_beyond_the_goods_is_refused_at_its_field_and_changes_nothing(owner, shop: Shop):
    enquiry = shop.enquiry()
    response = terms(owner, enquiry, discount_amount="99999", discount_reason="Generous")
    fields = Fields(response.content.decode())
    assert (response.status_code, fields.invalid) == (422, {"discount_amount"})
    assert fields.values["discount_reason"] == "Generous"
    assert nothing_is_changed(enquiry)


OWN_LINE = {"label": "Spare hub bolts", "category": "option", "amount": "2", "unit": "set", "price": "18.5",
            "cost": "11", "because": "Asked on the telephone"}  # fmt: skip


def test_a_line_of_ones_own_is_priced_and_can_be_taken_back(owner, shop: Shop):
    enquiry = shop.enquiry()
    assert owner.post(f"/desk/enquiries/{enquiry.number}/add-line/", OWN_LINE).status_code == 302
    [line] = [n for n in price_now(owner, enquiry).lines if n.key == "extra.1"]
    assert (str(line.net), str(line.cost), line.reason) == (
        "37.00 EUR",
        "22.00 EUR",
        "Asked on the telephone",
    )
    owner.post(f"/desk/enquiries/{enquiry.number}/undo/", {"key": "extra.1"})
    assert "extra.1" not in {n.key for n in price_now(owner, enquiry).lines}


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("price", "-1"),
        ("amount", "NaN"),
        ("cost", "\u0661"),
        ("because", " "),
        ("label", ""),
        ("category", "rush"),
    ],
)
def test_an_odd_line_of_ones_own_is_refused_at_its_field(field, typed):
    assert set(ExtraForm(OWN_LINE | {field: typed}).errors) == {field}


def test_a_changed_line_can_be_taken_back(owner, shop: Shop):
    enquiry = shop.enquiry()
    key, before = a_line(owner, enquiry), price_now(owner, enquiry)
    change(owner, enquiry, line=key, quantity="0")
    owner.post(f"/desk/enquiries/{enquiry.number}/undo/", {"key": key})
    assert price_now(owner, enquiry) == before


def test_past_orders_like_it_stand_beside_the_price_with_their_hours(owner, shop: Shop):
    order = shop.ready()
    shop.do(order.propellers.get().stages.get(key="crate"))
    shop.order(timber="white-ash")
    shown = owner.get(f"/desk/enquiries/{shop.enquiry().number}/").context["comparables"]
    assert [like.number for like in shown][0] == order.number
    first, second = shown
    assert first.recorded == sum(
        r.minutes for s in order.propellers.get().stages.all() for r in s.records.all()
    )
    assert (second.recorded, second.timber) == (None, "White ash")


def test_the_worker_works_out_what_a_rush_costs_and_the_review_shows_it(owner, shop: Shop):
    shop.queued()
    shop.queued()
    enquiry = shop.enquiry()
    owner.post(f"/desk/enquiries/{enquiry.number}/rush/")
    assert "compares the queue" in page_of(owner, enquiry)
    worker.run_one(OutboxJob.objects.get(kind="rush-cost").pk)
    cost = enquiry.rush_costs.get()
    assert (cost.state, cost.problem) == ("done", "")
    assert math.isclose(cost.surcharge, 1500 * cost.order_days, abs_tol=10)
    assert "Going first delays" in page_of(owner, enquiry)


def test_two_revisions_are_compared_and_strangers_to_a_series_are_not(owner, shop: Shop):
    enquiry = shop.revised()
    page = owner.get(f"/desk/enquiries/{enquiry.number}/compare/?from=1&to=2")
    found = page.context["comparison"]
    assert [(c.what, c.after) for c in found.inputs] == [
        ("A word from the workshop", "With the longer crate")
    ]
    assert (found.lines, all(not t.difference for t in found.totals)) == ((), True)
    assert owner.get(f"/desk/enquiries/{shop.enquiry().number}/compare/").status_code == 404
    with pytest.raises(ValueError, match="revisions of one quote"):
        compare(found.before, shop.sent_quote())


def test_a_revision_with_changed_lines_shows_each_difference_and_they_sum_to_the_totals(owner, shop: Shop):
    enquiry = shop.enquiry()
    send(owner, enquiry)
    terms(owner, enquiry, discount_percent="5", discount_reason="Second order")
    change(owner, enquiry, line="timber", rate="1")
    send(owner, enquiry, below_cost="on")
    found = owner.get(f"/desk/enquiries/{enquiry.number}/compare/").context["comparison"]
    assert {line.label for line in found.lines} >= {"discount", "Yellow birch"}
    assert sum(line.difference.minor for line in found.lines) == found.totals[0].difference.minor != 0
