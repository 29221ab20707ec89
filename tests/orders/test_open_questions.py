"""What a quote assumed is asked, answered and taken in before anything is built."""

import pytest

from orders.models import Confirmation, Enquiry, Mail, Order
from orders.refusal import Refused
from orders.services import answering, approval, enquiry, quote
from orders.services.assumptions import Said, Word
from orders.who import by_link
from quoting.models import Quote
from quoting.services.quotes import specification_of
from tests.orders.shop import Shop

ALICE = by_link("Alice Wren")
OPEN = {"engine": "vw-1600", "hub": "", "airframe_name": "Reed Bunting", "diameter": "54", "pitch": "24"}
"""A converted car engine: which way it turns, its bolt pattern and its holes are not known."""
UNSURE_HAND = {**OPEN, "hub": "vw-4in", "hole": "0.39", "pilot": "1"}
AS_ASSUMED = Said(Word.ASSUMED, {})
LEFT = Said(Word.OTHERWISE, {"hand": "left"})


def accept(shop: Shop, sent: Quote, **answers: Said) -> Order:
    return quote.accept_quote(
        sent.token, seen=sent.content_hash, terms_version=sent.terms_version, name="Alice Wren",
        now=shop.now, answers=answers,
    )  # fmt: skip


def questions(order: Order) -> dict[str, str]:
    return dict(order.confirmations.values_list("key", "state"))


def refusal(act) -> Refused:
    with pytest.raises(Refused) as refused:
        act()
    return refused.value


def revised(shop: Shop, order: Order) -> Quote:
    shop.later(hours=1)
    draft = quote.prepare_quote(shop.owner, order.enquiry, today=shop.today, now=shop.now)
    return quote.send_quote(shop.owner, draft, now=shop.now)


def test_hand_pattern_and_holes_of_an_engine_that_leaves_them_open_are_asked(shop: Shop):
    assert questions(shop.order(**OPEN)) == {"hand": "open", "hub": "open", "holes": "open"}


def test_a_pattern_chosen_and_complete_leaves_nothing_to_ask(shop: Shop):
    assert questions(shop.order()) == {}


def test_what_only_hangs_on_a_wall_is_not_asked_about(shop: Shop):
    assert questions(shop.order(**{**OPEN, "use": "display", "hub": "blank-boss"})) == {}


def test_an_order_stays_out_of_the_queue_until_its_question_is_answered(shop: Shop):
    order = shop.order(**UNSURE_HAND)
    shop.pay(order)
    assert refusal(lambda: shop.approve(order, "drawing")).code == "open-questions"
    answering.answer_on_order(ALICE, order, {"hand": AS_ASSUMED}, now=shop.now)
    shop.approve(order, "drawing")
    order.refresh_from_db()
    row = order.confirmations.get()
    assert (order.state, row.state, row.decided_name) == ("queued", "confirmed", "Alice Wren")


def test_answered_with_the_acceptance_nothing_is_asked_again(shop: Shop):
    order = accept(shop, shop.sent_quote(**UNSURE_HAND), hand=AS_ASSUMED)
    assert questions(order) == {"hand": "confirmed"}


def test_the_mail_of_an_order_names_what_is_still_to_be_answered(shop: Shop):
    shop.order(**UNSURE_HAND)
    assert "Which way does your propeller turn?" in Mail.objects.get(kind="order-accepted").body


def test_nothing_can_be_confirmed_where_nothing_was_assumed(shop: Shop):
    order = shop.order(**{**OPEN, "hub": "vw-4in", "hand": "right"})
    code = refusal(lambda: answering.answer_on_order(ALICE, order, {"holes": AS_ASSUMED}, now=shop.now)).code
    assert (code, questions(order)) == ("nothing-assumed", {"holes": "open"})


def test_another_answer_before_ordering_orders_nothing_and_goes_to_the_owner(shop: Shop):
    sent = shop.sent_quote(**UNSURE_HAND)
    assert refusal(lambda: accept(shop, sent, hand=LEFT)).code == "answered-otherwise"
    answering.answer_before_order(ALICE, sent.token, {"hand": LEFT}, now=shop.now)
    asked = Enquiry.objects.get()
    assert (asked.state, asked.typed["hand"], Order.objects.count()) == ("new", "left", 0)
    assert refusal(lambda: accept(shop, sent)).code == "declined"
    again = quote.send_quote(
        shop.owner, quote.prepare_quote(shop.owner, asked, today=shop.today, now=shop.now), now=shop.now
    )
    assert specification_of(again).hand == "left" and questions(accept(shop, again)) == {}


def test_another_answer_on_an_order_stops_it_for_a_revision_that_takes_the_quotes_place(either: Shop):
    shop = either
    order = shop.order(**UNSURE_HAND)
    shop.pay(order)
    paid = order.payments.get().amount
    answering.answer_on_order(ALICE, order, {"hand": LEFT}, now=shop.now)
    assert refusal(lambda: shop.approve(order, "drawing")).code == "open-questions"
    first, second = order.quote, revised(shop, order)
    same = accept(shop, second)
    first.refresh_from_db()
    order.refresh_from_db()
    assert same == order and Order.objects.count() == 1
    assert (order.quote, specification_of(order.quote).hand, first.state) == (second, "left", "superseded")
    assert (order.accepted_hash, order.gross) == (second.content_hash, second.gross_minor)
    assert questions(order) == {} and order.payment_requests.get().paid == paid
    shown = order.approvals.get(kind="drawing", state="asked")
    assert (shown.revision, shown.shown["quote"]) == (2, second.reference)
    shop.approve(order, "drawing")
    order.refresh_from_db()
    assert order.state == "queued" and order.propellers.get().stages.count() > 15


def test_figures_measured_later_make_the_pattern_complete(shop: Shop):
    order = shop.order(**OPEN)
    answers = {"hand": AS_ASSUMED, "hub": AS_ASSUMED, "holes": Said(Word.OTHERWISE, {"hole": "0.39"})}
    answering.answer_on_order(ALICE, order, answers, now=shop.now)
    sent = revised(shop, order)
    hub = specification_of(sent).hub
    assert hub.code == "vw-4in" and hub.is_complete and specification_of(sent).hand == "right"
    assert questions(accept(shop, sent)).items() >= {("hand", "confirmed"), ("hub", "confirmed")}


def test_holes_are_not_taken_before_the_pattern_they_belong_to(shop: Shop):
    order = shop.order(**OPEN)
    refused = refusal(
        lambda: answering.answer_on_order(
            ALICE, order, {"holes": Said(Word.OTHERWISE, {"hole": "0.39"})}, now=shop.now
        )
    )
    assert refused.field == "hub" and set(questions(order).values()) == {"open"}


def test_a_figure_that_cannot_be_is_refused_at_its_field_and_nothing_is_kept(shop: Shop):
    order = shop.order(**{**OPEN, "hub": "vw-4in", "hand": "right"})
    refused = refusal(
        lambda: answering.answer_on_order(
            ALICE, order, {"holes": Said(Word.OTHERWISE, {"hole": "39"})}, now=shop.now
        )
    )
    assert refused.field == "hole" and questions(order) == {"holes": "open"}
    assert "hole" not in Enquiry.objects.get().typed


def test_an_enquiry_behind_an_order_is_neither_withdrawn_nor_declined(shop: Shop):
    order = shop.order(**UNSURE_HAND)
    answering.answer_on_order(ALICE, order, {"hand": LEFT}, now=shop.now)
    asked = Enquiry.objects.get()
    assert refusal(lambda: enquiry.withdraw(ALICE, asked, now=shop.now)).code == "ordered"
    assert refusal(lambda: enquiry.decline(shop.owner, asked, reason="No", now=shop.now)).code == "ordered"


def test_an_order_nobody_answered_otherwise_takes_no_second_quote(shop: Shop):
    order = shop.order(**UNSURE_HAND)
    assert refusal(lambda: revised(shop, order)).code == "accepted"


def test_a_drawing_without_open_questions_is_approved_as_ever(shop: Shop):
    order = shop.order()
    asked = order.approvals.get(kind="drawing")
    assert approval.approve(ALICE, asked, seen=asked.shown_hash, now=shop.now).state == "approved"
    assert not Confirmation.objects.exists()
