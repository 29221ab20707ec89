"""The list of enquiries and quotes: found by state, number, quote and customer, in a fixed number of queries."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from orders.services import enquiry as enquiries
from orders.services import messages
from orders.services.quote import preview
from orders.who import by_link
from quoting.services.answers import KeptAnswer
from quoting.services.serial import unstructured
from tests.orders.shop import ADDRESS, TYPED, Shop


def answered(shop: Shop, **typed: str):
    """An enquiry with the answer that the ask page keeps with it."""
    row = shop.enquiry(**typed)
    made = preview(row, today=shop.today)
    answer = KeptAnswer(
        made.specification, made.findings, made.price, made.forecast, made.price_book, made.model_version, made.as_of
    )  # fmt: skip
    return enquiries.change_enquiry(
        shop.owner, row, typed=TYPED | typed, specification=None, estimate=unstructured(answer),
        address=ADDRESS, now=shop.now,
    ), made  # fmt: skip


def listed(client, **asked: str) -> list[str]:
    page = client.get("/desk/enquiries/", asked)
    return [glance.enquiry.number for glance in page.context["glances"]]


def test_an_enquiry_is_listed_with_what_is_wanted_and_what_it_would_cost(owner, shop: Shop):
    row, made = answered(shop)
    [glance] = owner.get("/desk/enquiries/").context["glances"]
    assert (glance.enquiry, glance.gross, glance.quote) == (row, made.price.gross, None)
    assert glance.title == "72 x 44, 2 blades, Yellow birch"


def test_a_declined_enquiry_is_found_again_by_words_and_by_state(owner, shop: Shop):
    row = shop.enquiry()
    enquiries.decline(shop.owner, row, reason="Too fast for wood", now=shop.now)
    assert listed(owner) == []
    assert listed(owner, state="declined") == listed(owner, find=row.number) == [row.number]
    assert listed(owner, find="alice@") == [row.number] and listed(owner, find="nobody") == []


@pytest.mark.parametrize("state", ["sent", "all"])
def test_a_quote_is_found_by_its_number_and_its_state(owner, shop: Shop, state):
    sent = shop.sent_quote()
    number = sent.series.enquiry.number
    assert listed(owner, state=state) == listed(owner, find=sent.series.number) == [number]
    [glance] = owner.get("/desk/enquiries/", {"state": state}).context["glances"]
    assert glance.quote == sent
    assert listed(owner, state="accepted") == []


def test_more_enquiries_ask_no_more_of_the_database(owner, shop: Shop):
    def asked(path: str) -> int:
        with CaptureQueriesContext(connection) as queries:
            assert owner.get(path).status_code == 200
        return len(queries)

    shop.sent_quote()
    answered(shop)
    owner.get("/desk/")
    before = asked("/desk/enquiries/?state=all"), asked("/desk/")
    for _ in range(3):
        shop.sent_quote()
        answered(shop)
    assert (asked("/desk/enquiries/?state=all"), asked("/desk/")) == before


def test_the_morning_sheet_names_what_is_wanted_messages_to_answer_and_money_to_give_back(owner, shop: Shop):
    answered(shop)
    order = shop.order()
    messages.write_to_workshop(by_link("Alice Wren"), order, body="Is it on the bench yet?", now=shop.now)
    page = owner.get("/desk/").content.decode()
    assert "72 x 44, 2 blades, Yellow birch" in page
    assert f"/desk/orders/{order.number}/#messages" in page and "Is it on the bench yet?" in page
    messages.write_to_customer(shop.owner, order, body="On Monday.", now=shop.later(minutes=5))
    assert "Is it on the bench yet?" not in owner.get("/desk/").content.decode()


def test_an_order_that_is_ready_and_late_stands_once(owner, shop: Shop):
    order = shop.ready()
    type(order).objects.filter(pk=order.pk).update(promise=shop.today - timedelta(days=3))
    page = owner.get("/desk/")
    assert [row.number for row in page.context["ready"]] == [order.number]
    assert list(page.context["late"]) == []
