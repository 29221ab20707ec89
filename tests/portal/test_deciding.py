"""Accepting and approving: nothing written is lost, nothing that was only assumed is built."""

import pytest
from django.test import Client

from orders.models import Approval, Enquiry, Order
from quoting.models import Quote
from tests.orders.shop import Shop
from tests.portal.pages import Fields

OPEN_HAND = {"engine": "vw-1600", "hub": "vw-4in", "hole": "0.39", "diameter": "54", "pitch": "24"}
OPEN = {"engine": "vw-1600", "hub": "", "diameter": "54", "pitch": "24"}


def decide(client: Client, asked: Approval, **form: str):
    url = f"/order/{asked.order.token}/{asked.kind}/{asked.revision}/"
    return client.post(url, {"shown_hash": asked.shown_hash, "name": "Alice Wren", **form})


def accept(client: Client, sent: Quote, **form: str):
    given = {"name": "Alice Wren", "terms": "on", "content_hash": sent.content_hash, "terms_version": "1"}
    return client.post(f"/quote/{sent.token}/accept/", given | form)


def drawing_of(order: Order) -> Approval:
    return order.approvals.get(kind="drawing", state="asked")


def test_approving_with_a_remark_typed_is_refused_at_the_remark_and_keeps_it(anyone, shop: Shop):
    asked = drawing_of(shop.order())
    response = decide(anyone, asked, decision="approve", remark_1="The boss is too thin")
    fields = Fields(response.content.decode())
    asked.refresh_from_db()
    assert (response.status_code, asked.state) == (422, "asked")
    assert (fields.invalid, fields.values["remark_1"]) == ({"remark_1"}, "The boss is too thin")
    assert "send it, or clear it" in response.content.decode()


def test_remarks_are_sent_without_the_name_of_the_approval(anyone, shop: Shop):
    asked = drawing_of(shop.order())
    assert decide(anyone, asked, decision="change", remark_2="Rounder tips", name="").status_code == 302
    asked.refresh_from_db()
    assert (asked.state, asked.decided_name) == ("changes wanted", "Alice Wren")
    assert [remark["text"] for remark in asked.remarks] == ["Rounder tips"]


@pytest.mark.parametrize("name", ["", "J"])
def test_approving_takes_a_name_in_full(anyone, shop: Shop, name):
    asked = drawing_of(shop.order())
    response = decide(anyone, asked, decision="approve", name=name)
    assert (response.status_code, Fields(response.content.decode()).invalid) == (422, {"name"})


def test_a_letter_is_no_name_to_order_under(anyone, shop: Shop):
    response = accept(anyone, shop.sent_quote(), name="J")
    assert (response.status_code, Fields(response.content.decode()).invalid) == (422, {"name"})


def test_a_newer_picture_is_told_on_the_page_with_the_remarks_still_there(anyone, shop: Shop):
    asked = drawing_of(shop.order())
    response = decide(anyone, asked, decision="change", remark_1="Rounder", shown_hash="0" * 64)
    assert response.status_code == 409 and "newer picture" in response.content.decode()
    assert Fields(response.content.decode()).values["remark_1"] == "Rounder"


def test_what_a_quote_assumed_is_asked_where_it_is_accepted(anyone, shop: Shop):
    sent = shop.sent_quote(**OPEN_HAND)
    page = anyone.get(f"/quote/{sent.token}/").content.decode()
    assert "Which way does your propeller turn?" in page and "(assumed, not confirmed)" in page
    response = accept(anyone, sent)
    assert (response.status_code, Fields(response.content.decode()).invalid) == (422, {"answer-hand"})
    assert not Order.objects.exists()


def test_answering_later_is_an_order_that_says_what_is_wanted(anyone, shop: Shop):
    accept(anyone, shop.sent_quote(**OPEN_HAND), **{"answer-hand": "later"})
    order = Order.objects.get()
    page = anyone.get(f"/order/{order.token}/").content.decode()
    assert f"/order/{order.token}/questions/" in page
    drawing = anyone.get(f"/order/{order.token}/drawing/1/").content.decode()
    assert "Drawn on what is not confirmed" in drawing and 'value="approve"' not in drawing
    assert decide(anyone, drawing_of(order), decision="approve").status_code == 409


def test_confirming_on_the_orders_page_lets_the_drawing_be_approved(anyone, shop: Shop):
    accept(anyone, shop.sent_quote(**OPEN_HAND), **{"answer-hand": "later"})
    order = Order.objects.get()
    anyone.post(f"/order/{order.token}/questions/", {"answer-hand": "assumed"})
    page = anyone.get(f"/order/{order.token}/").content.decode()
    assert "questions/" not in page and "(assumed, not confirmed)" not in page
    assert decide(anyone, drawing_of(order), decision="approve").status_code == 302


def test_another_answer_at_acceptance_orders_nothing_and_the_quote_says_so(anyone, owner, shop: Shop):
    sent = shop.sent_quote(**OPEN_HAND)
    accept(anyone, sent, **{"answer-hand": "otherwise", "terms": ""})
    page = anyone.get(f"/quote/{sent.token}/").content.decode()
    assert "Being worked again" in page and not Order.objects.exists()
    asked = Enquiry.objects.get()
    assert "left" in owner.get(f"/desk/enquiries/{asked.number}/").content.decode()


def test_holes_are_measured_at_acceptance_and_refused_at_their_field(anyone, shop: Shop):
    sent = shop.sent_quote(**OPEN)
    given = {"answer-hand": "assumed", "answer-hub": "assumed", "answer-holes": "otherwise"}
    nothing = accept(anyone, sent, **given)
    assert (nothing.status_code, Fields(nothing.content.decode()).invalid) == (422, {"answer-holes-hole"})
    wrong = accept(anyone, sent, **given, **{"answer-holes-hole": "99"})
    fields = Fields(wrong.content.decode())
    assert (wrong.status_code, fields.invalid) == (422, {"answer-holes-hole"})
    assert fields.values["answer-holes-hole"] == "99"
    assert accept(anyone, sent, **given, **{"answer-holes-hole": "3/8"}).status_code == 302
    assert Enquiry.objects.get().typed["hole"] == "3/8"


def test_the_desk_shows_the_answer_and_leads_to_the_quote_to_be_worked_again(anyone, owner, shop: Shop):
    accept(anyone, shop.sent_quote(**OPEN_HAND), **{"answer-hand": "later"})
    order = Order.objects.get()
    anyone.post(f"/order/{order.token}/questions/", {"answer-hand": "otherwise"})
    page = owner.get(f"/desk/orders/{order.number}/").content.decode()
    assert "hand left" in page and f"/desk/enquiries/{order.enquiry.number}/" in page
    assert owner.get(f"/desk/enquiries/{order.enquiry.number}/").context["deciding"]
    wanted = anyone.get(f"/order/{order.token}/").content.decode()
    assert "not answered" not in wanted and "questions/" not in wanted


def test_a_revision_is_offered_on_the_order_and_accepted_under_it(anyone, owner, shop: Shop):
    accept(anyone, shop.sent_quote(**OPEN_HAND), **{"answer-hand": "later"})
    order = Order.objects.get()
    anyone.post(f"/order/{order.token}/questions/", {"answer-hand": "otherwise"})
    asked = Enquiry.objects.get()
    desk = f"/desk/enquiries/{asked.number}/"
    shown = owner.get(desk).context["shown"]
    assert owner.post(f"{desk}send/", {"shown": shown, "message": ""}).status_code == 302
    second = Quote.objects.get(state="sent")
    wanted = [wish.words for wish in anyone.get(f"/order/{order.token}/").context["wanted"]]
    assert wanted == ["Accept the revised quote", "Pay the deposit"]
    accept(anyone, second)
    order.refresh_from_db()
    assert (order.quote, Order.objects.count()) == (second, 1)
    assert "left" in dict(anyone.get(f"/order/{order.token}/").context["facts"])["Hand"]


def test_questions_are_answered_one_by_one_as_they_are_found_out(anyone, shop: Shop):
    later = {f"answer-{key}": "later" for key in ("hand", "hub", "holes")}
    accept(anyone, shop.sent_quote(**OPEN), **later)
    order = Order.objects.get()
    wanted = lambda: anyone.get(f"/order/{order.token}/").content.decode()  # noqa: E731
    assert "Confirm, or say otherwise: hand, bolt pattern, bolt holes" in wanted()
    anyone.post(f"/order/{order.token}/questions/", later | {"answer-hand": "assumed"})
    assert "Confirm, or say otherwise: bolt pattern, bolt holes" in wanted()


def test_answering_nothing_says_so(anyone, shop: Shop):
    accept(anyone, shop.sent_quote(**OPEN_HAND), **{"answer-hand": "later"})
    response = anyone.post(f"/order/{Order.objects.get().token}/questions/", {"answer-hand": "later"})
    assert response.status_code == 400 and "come back when you know" in response.content.decode()
