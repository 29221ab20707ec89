"""A shop or queue that cannot be simulated is told so in words that name the cause."""

from datetime import date, timedelta

import pytest

from quoting.leadtime.calendar import ShopProblem
from quoting.leadtime.calibration import Calibration
from quoting.leadtime.check import check
from quoting.leadtime.forecast import forecast
from quoting.leadtime.queue import OuterWait, QueuedOrder, Task
from quoting.leadtime.shop import Machine, Rack
from tests.kit.small_shop import FULL_WEEK, NOW, order, person, queue, shop

ALWAYS = frozenset(date(2026, 1, 1) + timedelta(days=i) for i in range(4000))
SKILLS = ("lamination", "carving", "finishing", "balancing", "drilling", "inspection")


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"persons": (person("ada", *SKILLS[:-1]),)}, "nobody can do “Inspect”"),
        (
            {"persons": (person("ada", *SKILLS[:-1]), person("eve", "inspection", week=((),) * 7))},
            "Eve with it have no",
        ),
        ({"persons": (person("ada", *SKILLS, week=((),) * 7),)}, "nobody has working hours"),
        (
            {"machines": (*shop().machines[:-1], Machine("booth", "Booth", ALWAYS))},
            "Booth is out of use for good",
        ),
        ({"machines": shop().machines[1:]}, "names a machine the shop has not: planer"),
        ({"racks": (Rack("clamps", "Clamps", 0), shop().racks[1])}, "Clamps has no places"),
        ({"closed": ALWAYS}, "closed for good from 05 January 2026"),
        ({"persons": (person("ada", *SKILLS, week=(((480, 1500),),) * 7),)}, "past midnight"),
        ({"persons": (person("ada", *SKILLS, week=(((480, 720), (700, 900)),) * 7),)}, "overlap"),
    ],
)
def test_an_impossible_shop_is_named(changes, message):
    with pytest.raises(ShopProblem, match=message):
        forecast(shop(**changes), queue(3), Calibration(), now_minute=NOW, futures=10)


@pytest.mark.parametrize(
    ("made", "message"),
    [
        (QueuedOrder(1, "odd", 0, (Task("gild", 10),)), "no such stage"),
        (QueuedOrder(1, "odd", 0, (Task("sand", 10, locked_person="zoe"),)), "fixed to zoe"),
        (QueuedOrder(1, "odd", 0, (Task("sand", -10),)), "below nothing"),
        (
            QueuedOrder(1, "odd", 0, (Task("sand", 10, not_before=20_000_000),)),
            "fixed to begin on .* too far",
        ),
    ],
)
def test_an_impossible_order_is_named(made, message):
    with pytest.raises(ShopProblem, match=message):
        forecast(shop(), [made], Calibration(), now_minute=NOW, futures=10)


def test_five_thousand_orders_are_refused_in_words():
    with pytest.raises(ShopProblem, match="5000 orders are in the queue"):
        forecast(shop(), [order(i) for i in range(5000)], Calibration(), now_minute=NOW, futures=10)


def test_a_year_of_closure_is_told_and_moves_every_date_behind_it():
    year = frozenset(date(2026, 1, 6) + timedelta(days=i) for i in range(365))
    workshop = shop(closed=year)
    assert any(
        "closed from 06 January 2026" in t.message and not t.fatal for t in check(workshop, queue(3), NOW)
    )
    done = forecast(workshop, [order(1, skip=3)], Calibration(arrivals_a_day=0.0), now_minute=NOW, futures=20)
    assert done.of(1).min() > 365 * 1440


def test_a_person_without_hours_is_told_but_does_not_stop_the_others():
    idle = person("idle", "finishing", week=((),) * 7)
    workshop = shop(persons=(*shop().persons, idle))
    assert [t.message for t in check(workshop, queue(3), NOW)] == [
        "Idle has no working hours: enter some or take them off"
    ]
    assert forecast(workshop, queue(3), Calibration(), now_minute=NOW, futures=20).minutes.min() > NOW


def test_a_wait_before_a_stage_that_is_past_is_told():
    late = QueuedOrder(
        1, "late", 0, (Task("crate", 10),), (OuterWait("mock-up", "customer", before_stage="varnish"),)
    )
    assert any("not ahead of it" in t.message for t in check(shop(), [late], NOW))


def test_an_empty_queue_has_an_empty_forecast():
    assert forecast(shop(), [], Calibration(), now_minute=NOW).minutes.shape == (1000, 0)


def test_the_sample_shop_itself_has_no_troubles():
    assert check(shop(persons=(person("ada", *SKILLS, week=FULL_WEEK),)), queue(9), NOW) == ()
