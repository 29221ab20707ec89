"""A quote's pages: too late is told with what to do next, nothing typed is lost, revisions compared, terms with figures."""

from datetime import timedelta

import pytest
from django.test import Client

from orders.models import Enquiry, Message, Order
from orders.services.quote import NO_CHANGES, Review, prepare_quote, send_quote
from quoting.models import Quote
from quoting.pricing.money import Money
from quoting.pricing.terms import Discount
from quoting.services.pricebook import book_behind
from tests.orders.shop import Shop
from tests.portal.pages import Fields


def accept(client: Client, sent: Quote, **changes: str):
    form = {"name": "Alice Wren", "terms": "on", "content_hash": sent.content_hash, "terms_version": "1"}
    return client.post(f"/quote/{sent.token}/accept/", form | changes)


def revise(shop: Shop, sent: Quote, review: Review = NO_CHANGES) -> Quote:
    draft = prepare_quote(shop.owner, sent.series.enquiry, review, today=shop.today, now=shop.now)
    return send_quote(shop.owner, draft, now=shop.now)


def lapse(shop: Shop) -> Quote:
    now = shop.now
    shop.later(days=-60)
    sent = shop.sent_quote()
    shop.now = now
    return sent


def test_accepting_what_is_accepted_leads_to_the_one_order(anyone, shop: Shop):
    sent = shop.sent_quote()
    accept(anyone, sent)
    late = accept(anyone, sent, name="Somebody Else")
    page = late.content.decode()
    assert late.status_code == 409 and "accepted already" in page
    assert f"/order/{Order.objects.get().token}/" in page


def test_accepting_what_is_superseded_leads_to_the_newer_one(anyone, shop: Shop):
    sent = shop.sent_quote()
    newer = revise(shop, sent)
    late = accept(anyone, sent)
    assert late.status_code == 409 and f"/quote/{newer.token}/" in late.content.decode()
    assert not Order.objects.exists()


def test_accepting_or_declining_what_has_lapsed_says_how_to_get_a_fresh_one(anyone, shop: Shop):
    sent = lapse(shop)
    late = accept(anyone, sent)
    declined = anyone.post(
        f"/quote/{sent.token}/decline/", {"decline-name": "Alice", "decline-reason": "Too late"}
    )
    for response in (late, declined):
        assert response.status_code == 409
        assert (
            "has expired" in response.content.decode() and "we send a fresh one" in response.content.decode()
        )
    assert not Order.objects.exists()


def test_what_was_written_too_late_is_kept_as_a_message(anyone, shop: Shop):
    sent, form = shop.sent_quote(), {"decline-name": "Alice", "decline-reason": "Another maker is quicker"}
    anyone.post(f"/quote/{sent.token}/decline/", form)
    again = anyone.post(f"/quote/{sent.token}/decline/", form)
    assert (again.status_code, Fields(again.content.decode()).values["body"]) == (
        409,
        "Another maker is quicker",
    )
    enquiry = shop.enquiry()
    late = anyone.post(f"/enquiry/{enquiry.token}/answer/", {"text": "Six of 13/16"})
    assert (late.status_code, Fields(late.content.decode()).values["body"]) == (409, "Six of 13/16")


def test_accepting_what_was_declined_says_so(anyone, shop: Shop):
    sent = shop.sent_quote()
    anyone.post(f"/quote/{sent.token}/decline/", {"decline-name": "Alice", "decline-reason": "Too dear"})
    late = accept(anyone, sent)
    assert late.status_code == 409 and "was declined" in late.content.decode()


def test_a_withdrawn_enquiry_says_so_and_can_be_neither_answered_nor_quoted(anyone, owner, shop: Shop):
    enquiry = shop.enquiry()
    anyone.post(f"/enquiry/{enquiry.token}/withdraw/")
    assert "You withdrew it" in anyone.get(f"/enquiry/{enquiry.token}/").content.decode()
    assert (
        owner.post(f"/desk/enquiries/{enquiry.number}/send/", {"message": "All the same"}).status_code == 422
    )
    assert not Quote.objects.exists()


@pytest.mark.parametrize("tampered", [{"content_hash": "0" * 64}, {"terms_version": "2"}])
def test_another_text_than_the_one_shown_is_read_again_with_the_name_still_there(
    anyone, shop: Shop, tampered
):
    sent = shop.sent_quote()
    response = accept(anyone, sent, **tampered)
    fields = Fields(response.content.decode())
    assert response.status_code == 409 and "not the latest" in response.content.decode()
    assert (fields.values["name"], fields.values["content_hash"]) == ("Alice Wren", sent.content_hash)
    assert not Order.objects.exists()


def test_totals_sent_with_the_form_change_nothing_and_another_quotes_hash_accepts_nothing(anyone, shop: Shop):
    sent, other = shop.sent_quote(), shop.sent_quote(diameter="70")
    assert accept(anyone, sent, content_hash=other.content_hash).status_code == 409
    assert not Order.objects.exists()
    accept(anyone, sent, gross="1", net_minor="1", deposit="0", quantity="50")
    order = Order.objects.get()
    assert (order.gross, order.deposit, order.quantity) == (sent.gross_minor, sent.deposit_minor, 1)


@pytest.mark.parametrize(("form", "field"), [("decline", "decline-reason"), ("message", "body")])
def test_ten_thousand_characters_are_refused_at_the_field_and_kept(anyone, shop: Shop, form, field):
    sent, typed = shop.sent_quote(), "x" * 10_000
    response = anyone.post(f"/quote/{sent.token}/{form}/", {field: typed, "decline-name": "Alice"})
    fields = Fields(response.content.decode())
    assert (response.status_code, fields.invalid, fields.values[field]) == (422, {field}, typed)
    sent.refresh_from_db()
    assert sent.state == Quote.State.SENT and not Message.objects.exists()


@pytest.mark.parametrize("name", ["", " ", "x" * 500])
def test_a_name_that_cannot_stand_is_refused_at_the_field(anyone, shop: Shop, name):
    response = accept(anyone, shop.sent_quote(), name=name)
    assert (response.status_code, Fields(response.content.decode()).invalid) == (422, {"name"})
    assert not Order.objects.exists()


def test_a_question_about_a_quote_waits_at_the_desk_and_is_answered(anyone, owner, shop: Shop):
    sent = shop.sent_quote()
    anyone.post(f"/quote/{sent.token}/message/", {"body": "Is ash possible?"})
    enquiry = Enquiry.objects.get(series=sent.series)
    assert "Is ash possible?" in owner.get(f"/desk/enquiries/{enquiry.number}/").content.decode()
    owner.post(f"/desk/enquiries/{enquiry.number}/write/", {"body": "It is, for a little more"})
    assert "It is, for a little more" in anyone.get(f"/quote/{sent.token}/").content.decode()


def test_the_customer_sees_what_a_revision_changed(anyone, shop: Shop):
    first = shop.sent_quote()
    review = Review(
        discount=Discount("Second order", amount=Money.from_minor(10_000, "EUR")), message="As agreed"
    )
    second = revise(shop, first, review)
    page = anyone.get(f"/quote/{second.token}/changes/")
    assert f"/quote/{second.token}/changes/" in anyone.get(f"/quote/{second.token}/").content.decode()
    assert [line.label for line in page.context["comparison"].lines][0] == "discount"
    for words in ("Second order", "As agreed", "\N{MINUS SIGN}"):
        assert words in page.content.decode()
    assert "price book" not in page.content.decode()
    assert anyone.get(f"/quote/{first.token}/changes/").status_code == 404


def test_the_terms_of_a_quote_carry_the_figures_of_its_own_price_book(anyone, shop: Shop):
    sent = shop.sent_quote()
    book = book_behind(sent.price_book)
    page = anyone.get(f"/quote/{sent.token}/terms/").content.decode()
    assert f"{book['deposit.kept_uncut']:f} percent of the deposit" in page
    for key in ("change.fee", "storage.per_week"):
        assert str(Money.rounded(book[key], "EUR")) in page


def test_a_quote_says_what_it_was_worked_with(anyone, shop: Shop):
    sent = shop.sent_quote()
    page = anyone.get(f"/quote/{sent.token}/").content.decode()
    assert f"Price book {sent.price_book.version}" in page and f"Propeller model {sent.model_version}" in page


def test_a_quote_is_open_to_the_last_second_of_its_day(shop: Shop):
    sent = shop.sent_quote()
    assert sent.is_open(sent.expires_at) and not sent.is_open(sent.expires_at + timedelta(seconds=1))
