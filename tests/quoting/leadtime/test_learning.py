"""What is learnt from the record comes out near the truth that made it, and little is believed of little."""

from dataclasses import replace
from math import exp, log
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.leadtime.calibration import Calibration
from quoting.leadtime.futures import wait_lengths
from quoting.leadtime.history import History, OrderRecord, StageRecord, WaitRecord, queue_at, typical_route
from quoting.leadtime.learn import kaplan_meier_quantile, learn, widening_of
from quoting.leadtime.load import arrivals_a_day
from quoting.leadtime.queue import Task
from tests.kit.small_shop import ROUTE, shop

DAY = 1440


def record(orders, *, ratio=1.4, again=0.6, wait_days=6.0, seed=1, gap=2):
    """A shop that takes `ratio` times its estimates, redoes balance with chance `again`, an order every `gap` days."""
    rng = np.random.default_rng(seed)
    made = []
    for i in range(orders):
        at, stages = i * gap * DAY, []
        waits = (
            WaitRecord("deposit", "customer", at, at + round(wait_days * DAY * exp(rng.normal(0, 0.3)))),
        )
        minute = waits[0].until
        for j, task in enumerate(ROUTE):
            work = round(task.work * ratio * exp(rng.normal(0, 0.3)))
            redo = task.stage == "balance" and rng.random() < again
            stages.append(
                StageRecord(j, task.stage, task.work, task.wait, "ada", minute, minute + work, work, redo)
            )
            minute += work + task.wait
        made.append(OrderRecord(i + 1, at, int(i % 10 != 3), None, ROUTE, tuple(stages), waits, minute))
    return History(0, tuple(made), frozenset(("ada", d) for d in range(0, orders * gap, 10)))


def test_ratios_rework_waits_and_arrivals_are_found_again():
    known = learn(shop(), record(200), 420 * DAY)
    assert exp(known.ratio("sand").log_ratio) == pytest.approx(1.4, rel=0.1)
    assert known.rework.again == pytest.approx(0.6, abs=0.1)
    assert known.wait("deposit").median_days == pytest.approx(6.0, rel=0.15)
    assert known.arrivals_a_day == pytest.approx(0.5, rel=0.1)
    assert known.rush_share == pytest.approx(0.1, abs=0.03)
    assert known.task_variance == pytest.approx(0.09, rel=0.25)
    assert known.absence_share == pytest.approx(0.025, abs=0.01)


def test_one_order_moves_the_ratios_only_part_of_the_way():
    few, many = (learn(shop(), record(n), 420 * DAY) for n in (1, 150))
    start = Calibration().shop_log_ratio
    assert start < few.ratio("sand").log_ratio < many.ratio("sand").log_ratio
    assert few.shop_spread > many.shop_spread


def test_nothing_after_the_minute_is_known():
    whole = record(60)
    early = History(0, tuple(o for o in whole.orders if o.arrived <= 40 * DAY), whole.absences)
    cut = tuple(o for o in whole.orders if o.arrived <= 40 * DAY)
    assert len(cut) < 60
    assert learn(shop(), whole, 40 * DAY) == learn(shop(), early, 40 * DAY)


def quote(key, lead, said, done=True):
    return OrderRecord(key, 0, 1, None, ROUTE, finished=lead if done else None, quoted=(said, said, said))


def test_dates_that_came_too_early_widen_the_next_ones():
    late = [quote(i, 1300 + i, 1000) for i in range(60)]
    factor, done = widening_of(late, 10_000)
    assert done == 60
    assert 1.2 < factor < 1.4


def test_before_ten_are_done_nothing_is_widened():
    assert widening_of([quote(i, 5000, 1000) for i in range(9)], 10_000) == (1.0, 9)


def test_quotes_not_yet_done_count_as_lasting_at_least_their_age():
    done = [quote(i, 900, 1000) for i in range(30)]
    waiting = [quote(100 + i, 0, 1000, done=False) for i in range(30)]
    assert widening_of([*done, *waiting], 2_000)[0] > widening_of(done, 2_000)[0]


@given(st.lists(st.floats(0.1, 10), min_size=1, max_size=40), st.floats(0.05, 0.95))
def test_without_censoring_kaplan_and_meiers_is_the_sample_quantile(values, share):
    found = kaplan_meier_quantile([(v, True) for v in values], share)
    assert np.mean(np.array(values) <= found) >= share - 1e-9
    assert np.mean(np.array(values) < found) < share + 1e-9


def test_the_past_queue_holds_running_work_with_its_person_and_drying_with_the_rest_of_its_wait():
    stages = (
        StageRecord(0, "condition", 40, 0, "ada", 480, 520, 40),
        StageRecord(1, "laminate", 120, 1080, "cleo", 520, 640, 120),
    )
    history = History(0, (OrderRecord(1, 0, 1, None, ROUTE, stages, (), None),))
    shares = {"touch_stage": "sand", "touch": 0.5, "again": 0.6}
    running, drying = (queue_at(history, t, **shares)[0].tasks for t in (600, 700))
    assert (running[0].stage, running[0].person, running[0].done) == ("laminate", "cleo", 80)
    assert (drying[0].stage, drying[0].work, drying[0].wait) == ("laminate", 0, 1020)
    assert running[1:] == drying[1:] == ROUTE[2:]


def test_an_order_sent_round_again_still_has_its_touch_up_and_next_pass_ahead():
    at = next(j for j, t in enumerate(ROUTE) if t.stage == "balance")
    stages = (StageRecord(at, "balance", 60, 0, "ben", 480, 540, 60, redo=True),)
    history = History(0, (OrderRecord(1, 0, 1, None, ROUTE, stages),))
    tasks = queue_at(history, 600, touch_stage="sand", touch=0.5, again=0.6)[0].tasks
    assert [(t.stage, t.work) for t in tasks[:2]] == [("sand", 30), ("balance", 36)]
    assert tasks[2:] == ROUTE[at + 1 :]


def test_the_typical_route_is_the_commonest_chain_with_mean_work():
    routes = [
        (Task("sand", 100), Task("crate", 20)),
        (Task("sand", 200), Task("crate", 40)),
        (Task("crate", 9),),
    ]
    orders = [OrderRecord(i, 0, 1, None, route) for i, route in enumerate(routes)]
    assert typical_route(orders, ()) == (Task("sand", 150), Task("crate", 30))


def test_a_shop_that_has_slowed_down_is_followed_part_of_the_way():
    slow = [
        replace(o, stages=tuple(replace(r, work=round(r.work * 1.5)) for r in o.stages)) if i >= 130 else o
        for i, o in enumerate(record(150).orders)
    ]
    steady, slowed = (
        learn(shop(), History(0, tuple(orders)), 310 * DAY) for orders in (record(150).orders, slow)
    )
    change = slowed.ratio("sand").log_ratio - steady.ratio("sand").log_ratio
    assert 0.15 < change < log(1.5)
    assert slowed.ratio("drill").log_ratio > steady.ratio("drill").log_ratio + 0.15


def test_waits_are_spread_as_they_were_seen():
    rng = np.random.default_rng(5)
    seen = [
        replace(o, waits=(WaitRecord("deposit", "customer", o.arrived, o.arrived + round(DAY * days)),))
        for o, days in zip(record(300).orders, rng.uniform(2, 10, 300), strict=True)
    ]
    known = learn(shop(), History(0, tuple(seen)), 700 * DAY)
    z = NormalDist().inv_cdf
    days = {q: float(wait_lengths("deposit", known, np.array([z(q)]))[0]) for q in (0.1, 0.5, 0.9, 0.999)}
    assert days[0.1] == pytest.approx(2.8, abs=0.6)
    assert days[0.5] == pytest.approx(6.0, abs=0.6)
    assert days[0.9] == pytest.approx(9.2, abs=0.6)
    assert days[0.999] < 14


@given(st.floats(-3, 3), st.floats(0.1, 30))
def test_a_wait_is_never_over_before_now_and_the_longer_for_having_lasted(z, age):
    usual = Calibration()
    fresh, old = (float(wait_lengths("drawing", usual, np.array([z]), a)[0]) for a in (0.0, age))
    assert old >= max(age, fresh) - 1e-9


def test_arrivals_of_a_young_shop_lean_on_the_load_assumed():
    one = learn(shop(), record(1), 5 * DAY).arrivals_a_day
    many = learn(shop(), record(200), 400 * DAY).arrivals_a_day
    assert many == pytest.approx(0.5, rel=0.1)
    assert abs(one - arrivals_a_day(shop(), ROUTE, Calibration())) < 0.4 * one


def test_the_range_said_is_drawn_in_only_as_quotes_resolve():
    quotes = [quote(i, 20 * DAY, 20 * DAY) for i in range(60)]
    early, late = (learn(shop(), record(5), 400 * DAY, quotes=quotes[:n]) for n in (0, 60))
    assert early.range_kept == 1.0
    assert 0.85 < late.range_kept < 1.0


def test_dates_are_called_early_for_a_year_and_until_ten_are_kept_or_missed():
    quotes = [quote(i, 20 * DAY, 20 * DAY) for i in range(12)]
    day, few = record(5), quotes[:9]
    assert learn(shop(), day, 300 * DAY, quotes=quotes).early
    assert learn(shop(), day, 400 * DAY, quotes=few).early
    assert not learn(shop(), day, 400 * DAY, quotes=quotes).early
