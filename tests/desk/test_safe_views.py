"""Looking at a page changes nothing: no page that is merely opened asks the worker for anything or writes a mail."""

import pytest
from django.test import Client
from django.urls import get_resolver, reverse

from orders.models import Mail, OutboxJob
from tests.desk.test_doors import DOORS, knock, places  # noqa: F401 - a fixture
from tests.orders.shop import Shop

NOT_HERE = {"calendar", "paper"}
"""Pages of the portal whose rows stand in tests of their own."""


def work() -> tuple[int, int]:
    return OutboxJob.objects.count(), Mail.objects.count()


@pytest.fixture
def named(shop: Shop) -> dict[str, object]:
    """One of everything an address of the portal names; a token is the order's where nothing else is said."""
    order = shop.order()
    return {
        "enquiry": shop.enquiry().token,
        "quote": shop.sent_quote().token,
        "order": order.token,
        "number": order.number,
        "kind": "deposit",
        "revision": 1,
    }


def test_opening_the_desk_s_pages_asks_for_nothing(owner: Client, places: dict[str, object]) -> None:  # noqa: F811
    OutboxJob.objects.all().delete()
    before = work()
    for door in DOORS:
        if not door.post:
            knock(owner, door, places)
            assert work() == before, door.name


def test_opening_the_customers_pages_asks_for_nothing(alice: Client, named: dict[str, object]) -> None:
    OutboxJob.objects.all().delete()
    before = work()
    opened = []
    for name, ways in get_resolver("portal.urls").reverse_dict.lists():
        if not isinstance(name, str) or name in NOT_HERE:
            continue
        parts = ways[0][0][0][1]
        about = name.split("_")[0] if name.split("_")[0] in ("enquiry", "quote") else "order"
        given = {part: named.get(about if part == "token" else part, 1) for part in parts}
        if name == "approval":
            given["kind"] = "drawing"
        response = alice.get(reverse(f"portal:{name}", kwargs=given))
        assert work() == before, name
        opened += [name] if response.status_code in (200, 202) else []
    assert {
        "home",
        "ask",
        "enquiry",
        "quote",
        "quote_drawing",
        "quote_pdf",
        "order",
        "pay",
        "approval",
    } <= set(opened)
