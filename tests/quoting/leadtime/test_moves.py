"""A moved forecast names what moved it."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from quoting.leadtime.calibration import Calibration
from quoting.leadtime.moves import HOURS, NEWCOMERS, RANK, REDO, WAITS, Snapshot, explain
from quoting.leadtime.queue import OuterWait
from quoting.leadtime.whatif import away
from tests.kit.small_shop import NOW, order, queue, shop

BEFORE = Snapshot(shop(), queue(10), Calibration(arrivals_a_day=0.0), NOW)
LAST = BEFORE.orders[9].key


def test_nothing_changed_moves_nothing():
    assert explain(BEFORE, BEFORE, futures=60)[LAST].days == 0


def test_an_absence_is_named():
    gone = away(BEFORE.shop, "ada", [date(2026, 1, 6) + timedelta(days=i) for i in range(21)])
    move = explain(BEFORE, replace(BEFORE, shop=gone), futures=60)[LAST]
    assert move.days > 1
    assert move.reasons == ((HOURS, pytest.approx(move.days)),)


def test_rush_orders_accepted_since_are_named():
    rush = tuple(order(100 + i, skip=3, size=2.0, klass=0) for i in range(5))
    move = explain(BEFORE, replace(BEFORE, orders=(*BEFORE.orders, *rush)), futures=60)[LAST]
    assert move.reasons[0][0] == NEWCOMERS
    assert move.reasons[0][1] > 1


def test_work_to_be_done_again_is_named():
    mine = next(o for o in BEFORE.orders if o.key == LAST)
    again = replace(mine, tasks=(*mine.tasks[:1] * 12, *mine.tasks))
    after = replace(BEFORE, orders=tuple(again if o.key == LAST else o for o in BEFORE.orders))
    assert REDO in dict(explain(BEFORE, after, futures=60)[LAST].reasons)


def test_an_order_that_still_waits_on_its_customer_is_told_so():
    waiting = replace(BEFORE.orders[0], waits=(OuterWait("drawing", "customer", since=NOW),))
    before = replace(BEFORE, orders=(waiting, *BEFORE.orders[1:]))
    later = replace(before, now=NOW + 10 * 1440)
    assert WAITS in dict(explain(before, later, futures=60)[waiting.key].reasons)


def test_a_change_of_rank_is_named_for_those_it_sets_back():
    first = tuple(replace(o, rank=-1.0) if o.key == LAST else o for o in BEFORE.orders)
    moves = explain(BEFORE, replace(BEFORE, orders=first), futures=60)
    assert moves[LAST].days < -1
    assert RANK in dict(moves[LAST].reasons)
