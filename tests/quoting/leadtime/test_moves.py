"""A moved forecast names what moved it."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from quoting.leadtime.calibration import Calibration
from quoting.leadtime.moves import HOURS, NEWCOMERS, REDO, Snapshot, explain
from quoting.leadtime.whatif import away
from tests.kit.small_shop import NOW, order, queue, shop

BEFORE = Snapshot(shop(), queue(10), Calibration(arrivals_a_day=0.0), NOW)
LAST = BEFORE.orders[9].key


def test_nothing_changed_moves_nothing():
    assert explain(BEFORE, BEFORE, LAST, futures=60).days == 0


def test_an_absence_is_named():
    gone = away(BEFORE.shop, "ada", [date(2026, 1, 6) + timedelta(days=i) for i in range(21)])
    move = explain(BEFORE, replace(BEFORE, shop=gone), LAST, futures=60)
    assert move.days > 1
    assert move.reasons == ((HOURS, pytest.approx(move.days)),)


def test_rush_orders_accepted_since_are_named():
    rush = tuple(order(100 + i, skip=3, size=2.0, klass=0) for i in range(5))
    move = explain(BEFORE, replace(BEFORE, orders=(*BEFORE.orders, *rush)), LAST, futures=60)
    assert move.reasons[0][0] == NEWCOMERS
    assert move.reasons[0][1] > 1


def test_work_to_be_done_again_is_named():
    mine = next(o for o in BEFORE.orders if o.key == LAST)
    again = replace(mine, tasks=(*mine.tasks[:1] * 12, *mine.tasks))
    after = replace(BEFORE, orders=tuple(again if o.key == LAST else o for o in BEFORE.orders))
    assert REDO in dict(explain(BEFORE, after, LAST, futures=60).reasons)
