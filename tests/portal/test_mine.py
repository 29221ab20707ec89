"""My propellers: what has ended asks nothing of the database, and long lists come in pages."""

from datetime import timedelta

from django.db import connection
from django.test.utils import CaptureQueriesContext

from orders.models import Enquiry, Order
from portal.views import mine
from tests.orders.shop import Shop


def test_orders_that_have_ended_add_no_queries(alice, shop: Shop):
    first, *others = [shop.order() for _ in range(4)]
    Order.objects.filter(pk__in=[row.pk for row in others[1:]]).update(state=Order.State.CANCELLED)

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            assert alice.get("/mine/").status_code == 200
        return len(queries)

    alice.get("/mine/")
    Order.objects.filter(pk=others[0].pk).update(state=Order.State.CANCELLED)
    before = asked()
    for _ in range(2):
        Order.objects.filter(pk=shop.order().pk).update(state=Order.State.CANCELLED)
    assert asked() == before
    assert first.number in alice.get("/mine/").content.decode()


def test_what_is_still_owed_on_an_order_sent_off_is_wanted(alice, shop: Shop):
    order = shop.order()
    Order.objects.filter(pk=order.pk).update(state=Order.State.DISPATCHED, dispatched_at=shop.now)
    assert "Pay the deposit" in alice.get("/mine/").content.decode()
    shop.pay(order)
    assert "Pay the deposit" not in alice.get("/mine/").content.decode()


def test_older_enquiries_stand_on_the_next_page(alice, shop: Shop, monkeypatch):
    monkeypatch.setattr(mine, "SHOWN", 2)
    rows = [shop.enquiry() for _ in range(3)]
    for place, row in enumerate(rows):
        Enquiry.objects.filter(pk=row.pk).update(created_at=shop.now + timedelta(minutes=place))
    newest, older = (alice.get("/mine/", {"asked": page}).content.decode() for page in (1, 2))
    assert rows[0].number in older and rows[2].number not in older
    assert rows[2].number in newest and "?asked=2" in newest
