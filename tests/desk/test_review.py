"""The review at the desk: what it shows, lines changed with a reason, stops overridden in writing, quotes sent."""

from datetime import timedelta

import pytest

from orders.models import Enquiry, Mail
from quoting.models import Quote, Timber
from quoting.services import catalogue as held
from tests.orders.shop import Shop
from tests.portal.pages import Fields

FASTER_THAN_SOUND = {"engine_rpm": "4500"}
ODD = ["-5", "1e9", "NaN", "99999999999999999999", "\u0661\u0662", "\N{AIRPLANE}", "0x10"]


def page_of(client, enquiry: Enquiry) -> str:
    return client.get(f"/desk/enquiries/{enquiry.number}/").content.decode()


def change(client, enquiry: Enquiry, **form: str):
    whole = {"line": "labour", "quantity": "", "rate": "", "reason": "Agreed on the telephone"} | form
    return client.post(f"/desk/enquiries/{enquiry.number}/line/", whole)


def a_line(client, enquiry: Enquiry) -> str:
    return client.get(f"/desk/enquiries/{enquiry.number}/").context["price"].lines[0].key


def test_the_review_shows_findings_cost_margin_and_the_lines_workings(owner, shop: Shop):
    enquiry = shop.enquiry()
    response = owner.get(f"/desk/enquiries/{enquiry.number}/")
    page, price = response.content.decode(), response.context["price"]
    for words in ("Findings", "Price, cost and margin", "price book 2026-1", "drawing-plan"):
        assert words in page
    assert f"({100 * price.margin.amount / price.net.amount:.0f} %)" in page
    assert all(line.label in page for line in price.lines)


def test_sending_makes_a_sent_quote_and_one_mail_with_its_link(owner, shop: Shop):
    enquiry = shop.enquiry()
    response = owner.post(f"/desk/enquiries/{enquiry.number}/send/", {"message": "With pleasure"})
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
    owner.post(f"/desk/enquiries/{enquiry.number}/send/", {})
    stored = {line["key"]: line for line in Quote.objects.get().results["price"]["lines"]}
    assert stored[key]["reason"] == "Agreed on the telephone"


@pytest.mark.parametrize("reason", ["", "   "])
def test_a_change_without_a_reason_is_refused_at_the_reason_and_keeps_what_was_typed(owner, shop, reason):
    enquiry = shop.enquiry()
    response = change(owner, enquiry, line=a_line(owner, enquiry), rate="12.5", reason=reason)
    fields = Fields(response.content.decode())
    assert (response.status_code, fields.invalid, fields.values["rate"]) == (422, {"reason"}, "12.5")
    assert "review " + enquiry.number not in owner.session


@pytest.mark.parametrize("field", ["quantity", "rate"])
@pytest.mark.parametrize("typed", [*ODD, "1,000", "1.2.3", "0.1234567"])
def test_an_odd_number_is_refused_at_its_field_and_changes_nothing(owner, shop: Shop, field, typed):
    enquiry = shop.enquiry()
    response = change(owner, enquiry, line=a_line(owner, enquiry), **{field: typed})
    assert response.status_code == 422
    assert Fields(response.content.decode()).invalid == {field}
    assert "review " + enquiry.number not in owner.session


def test_a_change_of_nothing_or_of_another_quotes_line_is_refused(owner, shop: Shop):
    enquiry = shop.enquiry()
    assert Fields(change(owner, enquiry, line=a_line(owner, enquiry)).content.decode()).invalid == {
        "quantity"
    }
    assert change(owner, enquiry, line="nobody.has.this", quantity="1").status_code == 422
    assert "review " + enquiry.number not in owner.session


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
    owner.post(f"/desk/enquiries/{enquiry.number}/override/", {"reason": "  "})
    refused = owner.post(f"/desk/enquiries/{enquiry.number}/send/", {"message": "Typed with care"})
    assert refused.status_code == 422 and "Typed with care" in refused.content.decode()
    assert not Quote.objects.exists()
    owner.post(f"/desk/enquiries/{enquiry.number}/override/", {"reason": "Governed to 2400 in the air"})
    owner.post(f"/desk/enquiries/{enquiry.number}/send/", {})
    assert Quote.objects.get().override_reason == "Governed to 2400 in the air"


def test_a_stop_that_leaves_no_price_is_not_called_overridden(owner, shop: Shop):
    enquiry = shop.enquiry(**FASTER_THAN_SOUND)
    said = owner.post(f"/desk/enquiries/{enquiry.number}/override/", {"reason": "All the same"}, follow=True)
    assert "No writing lifts this stop" in said.content.decode()
    assert "review " + enquiry.number not in owner.session


def test_nothing_can_be_overridden_before_a_stop_stands(owner, shop: Shop):
    enquiry = shop.enquiry()
    said = owner.post(f"/desk/enquiries/{enquiry.number}/override/", {"reason": "Just in case"}, follow=True)
    assert "No stop stands" in said.content.decode()
    assert "review " + enquiry.number not in owner.session


@pytest.mark.parametrize("typed", ["2020-01-01", "9999-12-31", "tomorrow", "\u0662\u0660\u0662\u0667-01-01"])
def test_an_odd_day_to_promise_is_refused_at_the_field(owner, shop: Shop, typed):
    enquiry = shop.enquiry()
    response = owner.post(
        f"/desk/enquiries/{enquiry.number}/send/", {"promised_for": typed, "message": "Mine"}
    )
    fields = Fields(response.content.decode())
    assert (response.status_code, fields.invalid) == (422, {"promised_for"})
    assert fields.values["message"] == "Mine"
    assert not Quote.objects.exists()


def test_a_promised_day_stands_in_the_quote(owner, shop: Shop):
    enquiry, day = shop.enquiry(), shop.today + timedelta(days=90)
    owner.post(f"/desk/enquiries/{enquiry.number}/send/", {"promised_for": day.isoformat()})
    assert Quote.objects.get().promised_for == day


def test_an_enquiry_is_asked_back_or_declined_only_with_words(owner, shop: Shop):
    enquiry = shop.enquiry()
    for verb, field in (("ask-back", "question"), ("decline", "reason")):
        owner.post(f"/desk/enquiries/{enquiry.number}/{verb}/", {field: " "})
        enquiry.refresh_from_db()
        assert enquiry.state == Enquiry.State.NEW
    owner.post(f"/desk/enquiries/{enquiry.number}/decline/", {"reason": "Too fast for wood"})
    enquiry.refresh_from_db()
    assert enquiry.state == Enquiry.State.DECLINED
