"""Accepting a quote: exactly one order, bound to what was on the screen."""

from datetime import timedelta
from decimal import Decimal

import pytest

from orders.models import Approval, AuditRecord, Order, PaymentRequest
from orders.refusal import Refused
from orders.services import quote
from orders.services.quote import Review
from quoting.models import Quote
from quoting.pricing.terms import Override
from quoting.services.quotes import is_unaltered
from tests.kit.crowd import at_once


def refusal(act) -> str:
    with pytest.raises(Refused) as refused:
        act()
    return refused.value.code


def test_a_crowd_accepting_one_quote_makes_one_order_and_one_deposit_request(either):
    sent = either.sent_quote()
    crowd = 50 if either.vendor == "postgres" else 20
    results = at_once(crowd, lambda n: either.accept(sent, f"Alice {n}"))
    orders = [r for r in results if isinstance(r, Order)]
    assert len(orders) == Order.objects.count() == PaymentRequest.objects.count() == 1
    assert {r.code for r in results if not isinstance(r, Order)} == {"accepted-already"}


def test_acceptance_binds_name_hash_and_terms_and_asks_for_deposit_drawing_and_mock_up(shop):
    sent = shop.sent_quote()
    order = shop.accept(sent)
    sent.refresh_from_db()
    assert (sent.state, sent.decided_by, sent.decision_hash) == ("accepted", "Alice Wren", sent.content_hash)
    assert (order.accepted_hash, order.terms_version, order.state) == (sent.content_hash, "1", "waiting")
    assert order.payment_requests.get().amount == sent.deposit_minor > 0
    assert set(order.approvals.values_list("kind", "state")) == {("drawing", "asked"), ("mock-up", "asked")}
    assert order.propellers.get().stages.count() > 15


def test_another_text_than_the_one_sent_is_not_accepted(shop):
    sent = shop.sent_quote()
    accept = lambda **seen: quote.accept_quote(  # noqa: E731
        sent.token, **{"seen": sent.content_hash, "terms_version": "1", **seen}, name="Alice", now=shop.now
    )
    assert refusal(lambda: accept(seen="0" * 64)) == "another-text"
    assert refusal(lambda: accept(terms_version="2")) == "another-text"
    assert Order.objects.count() == 0


def test_a_quote_is_open_to_the_last_second_of_its_day_in_the_shops_zone_and_no_longer(shop):
    sent = shop.sent_quote()
    assert sent.expires_at.astimezone(shop.now.tzinfo).isoformat() == "2026-10-14T21:59:59+00:00"
    shop.now = sent.expires_at + timedelta(seconds=1)
    assert refusal(lambda: shop.accept(sent)) == "expired"
    shop.now = sent.expires_at
    assert shop.accept(sent).state == "waiting"


def test_a_revision_supersedes_and_only_the_newest_can_be_accepted(shop):
    first = shop.sent_quote()
    draft = quote.prepare_quote(
        shop.owner, first.series.enquiry, Review(message="Longer crate"), today=shop.today, now=shop.now
    )
    second = quote.send_quote(shop.owner, draft, now=shop.now)
    assert (second.series, second.revision) == (first.series, 2)
    assert refusal(lambda: shop.accept(first)) == "superseded"
    assert shop.accept(second).quote == second


def test_owner_revising_while_the_customer_accepts_never_leaves_two_truths(either):
    first = either.sent_quote()
    review = Review(message="new")
    draft = quote.prepare_quote(
        either.owner, first.series.enquiry, review, today=either.today, now=either.now
    )
    owner = either.owner
    accepted, sent = at_once(
        2, lambda n: either.accept(first) if n == 0 else quote.send_quote(owner, draft, now=either.now)
    )
    assert isinstance(accepted, Order) != isinstance(sent, Quote)
    assert Quote.objects.filter(state__in=["sent", "accepted"]).count() == 1


def test_a_declined_quote_is_not_accepted_and_says_why(shop):
    sent = shop.sent_quote()
    quote.decline_quote(sent.token, reason="Too dear", name="Alice", now=shop.now)
    assert refusal(lambda: shop.accept(sent)) == "declined"
    assert AuditRecord.objects.get(verb="decline").reason == "Too dear"


def test_a_draft_and_an_unknown_link_do_not_exist(shop):
    draft = quote.prepare_quote(shop.owner, shop.enquiry(), today=shop.today, now=shop.now)
    assert refusal(lambda: shop.accept(draft)) == "not-found"
    assert refusal(lambda: quote.decline_quote("guess", reason="", name="", now=shop.now)) == "not-found"


def test_the_owners_changes_to_lines_are_in_the_sealed_quote_with_their_reasons(shop):
    draft = quote.prepare_quote(shop.owner, shop.enquiry(), today=shop.today, now=shop.now)
    line = draft.results["price"]["lines"][0]
    review = Review(overrides=(Override(line["key"], "Old customer", rate=Decimal(0)),))
    cheaper = quote.prepare_quote(shop.owner, draft.series.enquiry, review, today=shop.today, now=shop.now)
    assert cheaper.net_minor < draft.net_minor
    sent = quote.send_quote(shop.owner, cheaper, now=shop.now)
    assert is_unaltered(sent)
    assert [row["reason"] for row in sent.results["price"]["lines"] if row["key"] == line["key"]] == [
        "Old customer"
    ]


def test_only_the_owner_sends(shop):
    draft = quote.prepare_quote(shop.owner, shop.enquiry(), today=shop.today, now=shop.now)
    assert refusal(lambda: quote.send_quote(shop.at_bench, draft, now=shop.now)) == "not-allowed"


def test_quotes_past_their_day_lapse(shop, monkeypatch):
    sent = shop.sent_quote()
    monkeypatch.setattr(quote.timezone, "now", lambda: sent.expires_at + timedelta(minutes=1))
    quote.lapse_expired({})
    sent.refresh_from_db()
    assert sent.state == "lapsed"


def test_nothing_is_kept_of_an_acceptance_that_fails_half_way(shop, monkeypatch):
    sent = shop.sent_quote()
    monkeypatch.setattr(quote.letters, "order_accepted", lambda *a, **k: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        shop.accept(sent)
    sent.refresh_from_db()
    assert (sent.state, Order.objects.count(), Approval.objects.count()) == ("sent", 0, 0)
