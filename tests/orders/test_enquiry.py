"""Enquiries and approvals: the talk with the customer before and after the order."""

import pytest

from orders.models import AuditRecord, Customer, Enquiry, Mail, Message
from orders.refusal import Refused
from orders.services import approval, enquiry, messages
from orders.who import by_link
from tests.orders.shop import ADDRESS

ALICE = by_link("Alice Wren")


def refusal(act) -> Refused:
    with pytest.raises(Refused) as refused:
        act()
    return refused.value


def test_an_enquiry_is_stored_as_typed_and_its_link_is_mailed(shop):
    stored = shop.enquiry()
    assert (stored.number, stored.state, len(stored.token)) == ("E-2026-0001", "new", 43)
    assert stored.typed["diameter"] == "72"
    assert f"/enquiry/{stored.token}/" in Mail.objects.get(kind="enquiry-stored").body


def test_typing_somebodys_address_does_not_change_their_entry(shop):
    shop.enquiry()
    thief = {**ADDRESS, "name": "Mallory", "email": "ALICE@example.org", "street": "Elsewhere"}
    enquiry.store_enquiry(
        by_link("Mallory"),
        typed={},
        specification=None,
        estimate=None,
        address=thief,
        language="en",
        now=shop.now,
    )
    customer = Customer.objects.get()
    assert (customer.name, customer.street) == ("Alice Wren", "Field Lane 1")
    assert Enquiry.objects.last().address["name"] == "Mallory"


def test_without_a_name_nothing_is_stored(shop):
    nameless = {**ADDRESS, "name": "  "}
    refused = refusal(
        lambda: enquiry.store_enquiry(
            ALICE, typed={}, specification=None, estimate=None, address=nameless, language="en", now=shop.now
        )
    )
    assert (refused.field, Enquiry.objects.count(), Customer.objects.count()) == ("name", 0, 0)


def test_the_owner_asks_back_and_the_answer_brings_it_back(shop):
    asked = shop.enquiry()
    enquiry.ask_back(shop.owner, asked, question="Which carburettor?", now=shop.now)
    assert asked.state == "asked back"
    enquiry.answer(ALICE, asked, text="The small one", now=shop.now)
    assert (asked.state, [m.side for m in Message.objects.all()]) == ("new", ["workshop", "customer"])


def test_an_enquiry_is_declined_once_with_a_reason(shop):
    asked = shop.enquiry()
    assert refusal(lambda: enquiry.decline(shop.owner, asked, reason="", now=shop.now)).field == "reason"
    enquiry.decline(shop.owner, asked, reason="Too large for our clamps", now=shop.now)
    assert refusal(lambda: enquiry.withdraw(ALICE, asked, now=shop.now)).code == "wrong-state"
    assert "Too large" in Mail.objects.get(kind="enquiry-declined").body


def test_a_text_of_ten_thousand_characters_is_refused_at_its_field(shop):
    asked = shop.enquiry()
    refused = refusal(lambda: messages.write_to_workshop(ALICE, asked, body="x" * 10_000, now=shop.now))
    assert (refused.field, Message.objects.count()) == ("body", 0)


def test_remarks_are_numbered_and_lead_to_a_new_revision_that_alone_can_be_approved(shop):
    order = shop.order()
    first = order.approvals.get(kind="drawing")
    approval.want_changes(
        ALICE, first, [{"text": "Move the hole", "x": 0.5, "y": 0.2}, {"text": "And the tip"}],
        seen=first.shown_hash, now=shop.now,
    )  # fmt: skip
    assert [(r["number"], r["text"]) for r in first.remarks] == [(1, "Move the hole"), (2, "And the tip")]
    second = approval.ask_for_approval(
        shop.owner, order, "drawing", {**first.shown, "note": "moved"}, note="", now=shop.now
    )
    assert (
        refusal(lambda: approval.approve(ALICE, first, seen=first.shown_hash, now=shop.now)).code
        == "decided-already"
    )
    assert (
        refusal(lambda: approval.approve(ALICE, second, seen=first.shown_hash, now=shop.now)).code
        == "another-picture"
    )
    approval.approve(ALICE, second, seen=second.shown_hash, now=shop.now)
    assert (second.revision, second.state, second.decided_name) == (2, "approved", "Alice Wren")


def test_every_change_of_an_order_is_on_record_and_replays_to_its_state(shop):
    order = shop.dispatched()
    steps = AuditRecord.objects.filter(subject=f"order {order.number}").exclude(before="").order_by("id")
    moves = [(s.before, s.after) for s in steps if s.before in order.State.values]
    assert moves[0][0] == "waiting" and moves[-1][1] == "dispatched"
    assert all(a[1] == b[0] for a, b in zip(moves, moves[1:], strict=False))
