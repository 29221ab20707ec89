"""Enquiry, quote, order, payment, approval and one's own list: what each shows, takes, and keeps from strangers."""

import re

import pytest
from django.test import Client

from orders.models import Approval, Document, Enquiry, Mail, Message, Order, ProviderEvent
from orders.services import cancelling
from orders.services import enquiry as enquiries
from orders.services.quote import NO_CHANGES, prepare_quote, send_quote
from portal.facts import facts_of
from portal.views.order import paper_word
from quoting.models import Quote
from quoting.services.quotes import specification_of
from tests.orders.shop import Shop


def accepted(client: Client, sent: Quote, **changes: str) -> object:
    form = {
        "name": "Alice Wren",
        "terms": "on",
        "content_hash": sent.content_hash,
        "terms_version": sent.terms_version,
    }
    return client.post(f"/quote/{sent.token}/accept/", form | changes)


@pytest.mark.parametrize(
    "path", ["/", "/terms/", "/ask/", "/mail/", "/account/login/", "/account/login/code/"]
)
def test_pages_for_anybody_open_and_carry_the_title_of_the_shop(anyone, path):
    response = anyone.get(path)
    assert response.status_code == 200
    assert "Test Airscrews" in response.content.decode()


@pytest.mark.parametrize("kind", ["enquiry", "quote", "order"])
def test_a_guessed_link_is_not_there(anyone, kind):
    assert anyone.get(f"/{kind}/{'x' * 43}/").status_code == 404


def test_pages_by_link_are_private_and_tell_no_other_site_their_address(anyone, shop: Shop):
    response = anyone.get(f"/enquiry/{shop.enquiry().token}/")
    assert "no-store" in response.headers["Cache-Control"]
    assert response.headers["Referrer-Policy"] == "same-origin"


def test_the_policy_allows_no_inline_style_or_script_and_the_pages_have_none(anyone, shop: Shop):
    sent = shop.sent_quote()
    for path in ("/", "/ask/", f"/quote/{sent.token}/"):
        response = anyone.get(path)
        page = response.content.decode()
        assert "style-src 'self'" in response.headers["Content-Security-Policy"]
        assert not re.search(r"\sstyle=|<style|\son[a-z]+=|<script(?![^>]*src=)", page), path


def test_a_question_asked_back_is_answered_and_the_answer_must_have_words(anyone, shop: Shop):
    enquiry = shop.enquiry()
    enquiries.ask_back(shop.owner, enquiry, question="Which bolts?", now=shop.now)
    assert "Which bolts?" in anyone.get(f"/enquiry/{enquiry.token}/").content.decode()
    assert anyone.post(f"/enquiry/{enquiry.token}/answer/", {"text": " "}).status_code == 422
    anyone.post(f"/enquiry/{enquiry.token}/answer/", {"text": "3/8 inch"})
    enquiry.refresh_from_db()
    assert enquiry.state == Enquiry.State.NEW
    assert Message.objects.filter(body="3/8 inch", side="customer").exists()


def test_an_enquiry_is_withdrawn_once(anyone, shop: Shop):
    enquiry = shop.enquiry()
    assert anyone.post(f"/enquiry/{enquiry.token}/withdraw/").status_code == 302
    assert anyone.post(f"/enquiry/{enquiry.token}/withdraw/").status_code == 409
    assert "Withdrawn" in anyone.get(f"/enquiry/{enquiry.token}/").content.decode()


def test_a_quote_shows_sum_tax_promise_drawing_findings_and_workings(anyone, shop: Shop):
    sent = shop.sent_quote()
    page = anyone.get(f"/quote/{sent.token}/").content.decode()
    for words in ("VAT", "Promised:", "drawing-plan", "price book 2026-1", "Findings", sent.series.number):
        assert words in page
    assert f"{sent.gross.amount:,.2f}".replace(",", "\u00a0") in page


def test_a_draft_is_not_there(anyone, shop: Shop):
    draft = prepare_quote(shop.owner, shop.enquiry(), NO_CHANGES, today=shop.today, now=shop.now)
    assert anyone.get(f"/quote/{draft.token}/").status_code == 404


def test_accepting_makes_the_order_and_leads_to_it(anyone, shop: Shop):
    response = accepted(anyone, shop.sent_quote())
    order = Order.objects.get()
    assert response.headers["Location"] == f"/order/{order.token}/"
    assert order.accepted_name == "Alice Wren"


@pytest.mark.parametrize("changes", [{"name": ""}, {"terms": ""}, {"name": "x" * 500}])
def test_accepting_without_name_or_terms_says_so_and_orders_nothing(anyone, shop: Shop, changes):
    response = accepted(anyone, shop.sent_quote(), **changes)
    assert response.status_code == 422
    assert 'aria-invalid="true"' in response.content.decode()
    assert not Order.objects.exists()


def test_accepting_another_text_is_refused_in_words(anyone, shop: Shop):
    response = accepted(anyone, shop.sent_quote(), content_hash="0" * 64)
    assert response.status_code == 409
    assert "not the latest" in response.content.decode()
    assert not Order.objects.exists()


def test_accepting_twice_makes_one_order_and_the_page_leads_to_it(anyone, shop: Shop):
    sent = shop.sent_quote()
    accepted(anyone, sent)
    assert accepted(anyone, sent).status_code == 409
    assert f"/order/{Order.objects.get().token}/" in anyone.get(f"/quote/{sent.token}/").content.decode()


def test_a_superseded_quote_leads_to_the_newer_one(anyone, shop: Shop):
    sent = shop.sent_quote()
    draft = prepare_quote(shop.owner, sent.series.enquiry, NO_CHANGES, today=shop.today, now=shop.now)
    newer = send_quote(shop.owner, draft, now=shop.now)
    page = anyone.get(f"/quote/{sent.token}/").content.decode()
    assert "Superseded" in page
    assert f"/quote/{newer.token}/" in page
    assert "Order with obligation" not in page


def test_a_lapsed_quote_says_what_next_and_cannot_be_accepted(anyone, shop: Shop):
    now = shop.now
    shop.later(days=-60)
    sent = shop.sent_quote()
    shop.now = now
    page = anyone.get(f"/quote/{sent.token}/").content.decode()
    assert "Lapsed on" in page
    assert "fresh one" in page
    assert accepted(anyone, sent).status_code == 409


def test_declining_keeps_the_reason(anyone, shop: Shop):
    sent = shop.sent_quote()
    form = {"decline-name": "Alice Wren", "decline-reason": "Too late for the season"}
    anyone.post(f"/quote/{sent.token}/decline/", form)
    sent.refresh_from_db()
    assert (sent.state, sent.decision_reason) == ("declined", "Too late for the season")


def test_the_order_page_says_first_what_is_wanted(anyone, shop: Shop):
    order = shop.order()
    page = anyone.get(f"/order/{order.token}/").content.decode()
    places = [
        page.index(w) for w in ("Pay the deposit", "Approve the drawing", "Where it stands", "Rough carve")
    ]
    assert places == sorted(places)


def test_a_dispatched_order_wants_nothing_and_shows_every_stage_done(anyone, shop: Shop):
    order = shop.dispatched()
    page = anyone.get(f"/order/{order.token}/").content.decode()
    assert "Nothing at present" in page
    assert "Dispatched" in page
    assert page.count(">done<") >= 15


def test_the_pay_page_shows_account_and_reference_and_no_card_without_a_key(anyone, shop: Shop, settings):
    settings.STRIPE_API_KEY = ""
    order = shop.order()
    page = anyone.get(f"/order/{order.token}/pay/deposit/").content.decode()
    assert order.payment_requests.get().reference in page
    assert "IBAN DE00" in page
    assert "Card payment is not offered" in page
    assert order.payment_requests.get().paid == 0


def test_a_blank_boss_is_shown_as_bored_only_and_wants_no_template(anyone, shop: Shop):
    order = shop.order(use="display", category="not-registered", hub="blank-boss")
    page = anyone.get(f"/order/{order.token}/").content.decode()
    facts = dict(facts_of(specification_of(order.quote), "in"))
    assert facts["Hub pattern"] == "Blank boss for display: bored at the centre only, no bolt holes"
    assert "NOT COMPLETE" not in page and "no drill template" not in page


def test_a_display_piece_says_not_for_flight_on_its_order(anyone, shop: Shop):
    order = shop.order(use="display", category="not-registered")
    assert "NOT FOR FLIGHT" in anyone.get(f"/order/{order.token}/").content.decode()


def test_approving_the_drawing_binds_what_was_shown(anyone, shop: Shop):
    order = shop.order()
    asked = order.approvals.get(kind="drawing")
    form = {"name": "Alice Wren", "shown_hash": asked.shown_hash, "decision": "approve"}
    assert anyone.post(f"/order/{order.token}/drawing/1/", form | {"shown_hash": "0" * 64}).status_code == 409
    assert anyone.post(f"/order/{order.token}/drawing/1/", form).status_code == 302
    asked.refresh_from_db()
    assert (asked.state, asked.decided_name) == (Approval.State.APPROVED, "Alice Wren")


def test_changes_need_a_remark_and_remarks_are_numbered(anyone, shop: Shop):
    order = shop.order(decal_text="OTTER")
    asked = order.approvals.get(kind="mock-up")
    form = {"name": "Alice Wren", "shown_hash": asked.shown_hash, "decision": "change"}
    address = f"/order/{order.token}/mock-up/1/"
    assert "OTTER" in anyone.get(address).content.decode()
    assert anyone.post(address, form).status_code == 422
    anyone.post(address, form | {"remark_1": "Decal nearer the tip", "remark_3": "Darker"})
    asked.refresh_from_db()
    assert [(r["number"], r["text"]) for r in asked.remarks] == [(1, "Decal nearer the tip"), (2, "Darker")]


def test_a_message_reaches_the_workshop_and_ten_thousand_characters_do_not(anyone, shop: Shop):
    order = shop.order()
    address = f"/order/{order.token}/message/"
    long = anyone.post(address, {"body": "x" * 10_000})
    assert long.status_code == 422
    assert "x" * 10_000 in long.content.decode()
    anyone.post(address, {"body": "<b>When?</b>"})
    assert "&lt;b&gt;When?&lt;/b&gt;" in anyone.get(f"/order/{order.token}/").content.decode()
    assert Mail.objects.filter(to="owner@example.org", subject__contains="Message on order").exists()


def test_my_propellers_are_mine_alone(alice, charlie, anyone, shop: Shop):
    order = shop.order()
    assert order.number in alice.get("/mine/").content.decode()
    assert order.number not in charlie.get("/mine/").content.decode()
    assert anyone.get("/mine/").status_code == 302


def test_a_stranger_finds_no_order_by_its_number(alice, charlie, anyone, shop: Shop):
    order = shop.order()
    assert alice.get(f"/mine/{order.number}/").status_code == 200
    assert charlie.get(f"/mine/{order.number}/").status_code == 404
    assert anyone.get(f"/mine/{order.number}/").status_code == 302


def test_every_kind_of_paper_has_its_words():
    assert all(paper_word(kind) for kind in Document.Kind)


def test_a_paper_of_another_order_is_not_there(anyone, shop: Shop):
    order = shop.order()
    assert anyone.get(f"/order/{order.token}/paper/12345/").status_code == 404


def test_a_customer_signs_in_with_the_code_that_is_mailed(shop: Shop):
    shop.enquiry()
    client = Client()
    client.post("/account/login/code/", {"email": "ALICE@example.org"})
    body = Mail.objects.filter(kind="sign-in").latest("id").body
    codes = [line.strip() for line in body.splitlines() if re.fullmatch(r"[A-Z0-9-]{6,9}", line.strip())]
    response = client.post("/account/login/code/confirm/", {"code": codes[0]})
    assert response.headers["Location"] == "/mine/"
    assert "Alice Wren" in client.get("/mine/").content.decode()


def test_an_unknown_address_gets_no_account(shop: Shop):
    Client().post("/account/login/code/", {"email": "nobody@example.org"})
    assert not Mail.objects.filter(kind="sign-in", body__regex=r"\b[A-Z0-9]{3}-?[A-Z0-9]{3}\b").exists()


def test_the_tray_is_there_in_the_demonstration_only(anyone, settings):
    settings.DEMO = False
    assert anyone.get("/mail/").status_code == 404


@pytest.mark.parametrize("units", ["", "ft", "in; x"])
def test_other_units_are_refused(anyone, units):
    assert anyone.post("/units/", {"units": units}).status_code == 400


def test_the_switch_goes_back_to_pages_of_our_own_only(anyone):
    response = anyone.post("/units/", {"units": "mm", "next": "https://elsewhere.example/"})
    assert response.headers["Location"] == "/"


def test_an_unsigned_card_message_is_refused_and_not_kept(anyone, settings):
    settings.STRIPE_WEBHOOK_SECRETS = ["whsec_test"]
    response = anyone.post("/webhooks/card/", b"{}", content_type="application/json")
    assert response.status_code == 400
    assert response.json()["code"] == "signature"
    assert not ProviderEvent.objects.exists()


def test_the_api_answers_as_the_page_does_and_names_unknown_fields(anyone):
    asked = {
        "engine": "continental-a65-8f",
        "wish": "known",
        "diameter": "72",
        "pitch": "44",
        "country": "DE",
    }
    answer = anyone.post("/api/estimate", asked, content_type="application/json")
    assert answer.json()["estimate"]["price"]["currency"] == "EUR"
    assert "not an approval" in answer.json()["caution"]
    bad = anyone.post("/api/estimate", {**asked, "diameter": "NaN"}, content_type="application/json")
    assert (bad.status_code, bad.json()["problems"][0]["field"]) == (422, "diameter")
    unknown = anyone.post("/api/estimate", {**asked, "colour": "red"}, content_type="application/json")
    assert (unknown.status_code, list(unknown.json())) == (400, ["colour"])


def test_the_api_gives_own_orders_only(alice, charlie, anyone, shop: Shop):
    order = shop.order()
    assert [row["number"] for row in alice.get("/api/orders").json()] == [order.number]
    assert charlie.get("/api/orders").json() == []
    assert charlie.get(f"/api/orders/{order.number}").status_code == 404
    assert anyone.get("/api/orders").status_code == 403


def test_the_schema_is_for_staff(alice, anyone):
    assert alice.get("/api/schema").status_code == 403
    assert anyone.get("/api/schema").status_code == 403


def test_a_cancelled_order_speaks_of_no_payment_that_never_came(anyone, shop: Shop):
    order = shop.order()
    cancelling.cancel_order(
        shop.owner, order, reason="The project is sold.", retained=0, today=shop.today, now=shop.now
    )
    page = anyone.get(f"/order/{order.token}/")
    assert page.context["payments"] == []
