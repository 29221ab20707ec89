"""An order that waits on timber: the plan counts with it, the bench cannot begin, and its end is learnt from."""

import pytest

from orders.models import OutboxJob
from orders.refusal import Refused
from orders.services import bench, timber_waits
from orders.services.history import history_of
from orders.services.shop import queue_of, shop_of
from quoting.leadtime.calendar import Calendar
from tests.orders.shop import Shop


def test_the_queue_counts_with_the_wait_until_the_timber_comes(shop: Shop) -> None:
    order = shop.queued()
    timber_waits.await_timber(shop.owner, order, remark="ash from the north", now=shop.now)
    calendar = Calendar(shop_of(shop.today))
    waits = queue_of(calendar)[0].waits
    assert ("timber", "supplier", calendar.now(shop.now), None) in [
        (w.kind, w.owner, w.since, w.before_stage) for w in waits
    ]
    timber_waits.timber_came(shop.owner, order, now=shop.later(days=3))
    assert "timber" not in {w.kind for w in queue_of(calendar)[0].waits}
    assert OutboxJob.objects.filter(kind="replan", state="waiting").exists()


def test_the_bench_cannot_begin_without_the_timber(shop: Shop) -> None:
    order = shop.queued()
    first = order.propellers.get().stages.first()
    timber_waits.await_timber(shop.owner, order, now=shop.now)
    with pytest.raises(Refused, match="not here yet"):
        bench.start_stage(shop.at_bench, first, shop.wes, now=shop.now)
    timber_waits.timber_came(shop.at_bench, order, now=shop.now)
    assert bench.start_stage(shop.at_bench, first, shop.wes, now=shop.now).state == "started"
    with pytest.raises(Refused, match="in work already"):
        timber_waits.await_timber(shop.owner, order, now=shop.now)


def test_the_forecast_learns_from_a_wait_that_ended(shop: Shop) -> None:
    order = shop.queued()
    timber_waits.await_timber(shop.owner, order, now=shop.now)
    since = shop.now
    timber_waits.timber_came(shop.owner, order, now=shop.later(days=5))
    calendar = Calendar(shop_of(shop.today))
    found = [w for o in history_of(calendar).orders for w in o.waits if w.kind == "timber"]
    assert [(w.since, w.until) for w in found] == [(calendar.now(since), calendar.now(shop.now))]


def test_an_order_waits_once_at_a_time(shop: Shop) -> None:
    order = shop.queued()
    with pytest.raises(Refused, match="does not wait"):
        timber_waits.timber_came(shop.owner, order, now=shop.now)
    timber_waits.await_timber(shop.owner, order, now=shop.now)
    with pytest.raises(Refused, match="already"):
        timber_waits.await_timber(shop.owner, order, now=shop.now)
