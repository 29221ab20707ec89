"""Past orders like one asked for: the likest first, hours of builds that are done alone, a bounded number of queries."""

from django.db import connection
from django.test.utils import CaptureQueriesContext

from orders.services import cancelling
from orders.services.comparable import comparable_orders, typical_minutes
from orders.services.quote import preview
from tests.orders.shop import Shop


def asked(shop: Shop, **typed: str):
    made = preview(shop.enquiry(**typed), today=shop.today)
    return made.specification, made.assessment.measures


def test_the_likest_stand_first_and_cancelled_ones_nowhere(shop: Shop):
    same = shop.order()
    near = shop.order(diameter="70")
    other = shop.order(timber="white-ash")
    gone = shop.queued()
    cancelling.cancel_order(
        shop.owner, gone, reason="x", retained=0, today=shop.today, now=shop.now
    )
    found = comparable_orders(*asked(shop))
    assert [like.number for like in found] == [same.number, near.number, other.number]


def test_hours_are_those_of_one_finished_propeller_and_none_while_it_is_built(shop: Shop):
    order = shop.order(quantity="2")
    [like] = comparable_orders(*asked(shop))
    assert (like.recorded, like.overrun, like.quantity) == (None, None, 2)
    assert like.net.minor * 2 in range(order.net - 1, order.net + 2)
    assert like.estimated == sum(s.minutes for s in order.propellers.first().stages.all())


def test_work_done_again_is_no_part_of_the_hours(shop: Shop):
    order = shop.ready()
    propeller = order.propellers.get()
    shop.do(propeller.stages.get(key="crate"))
    [like] = comparable_orders(*asked(shop))
    recorded = sum(r.minutes for s in propeller.stages.all() for r in s.records.all())
    assert like.recorded == recorded == sum(typical_minutes([like]).values())
    assert float(like.overrun) == round((recorded - like.estimated) / like.estimated, 3)


def test_more_orders_ask_no_more_of_the_database(shop: Shop):
    wanted = asked(shop)
    shop.order()
    with CaptureQueriesContext(connection) as one:
        comparable_orders(*wanted)
    for _ in range(3):
        shop.order()
    with CaptureQueriesContext(connection) as four:
        assert len(comparable_orders(*wanted)) == 4
    assert len(one) == len(four) == 2
