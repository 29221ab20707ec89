"""What must hold in every future, whatever the queue; and what holds on average with the same random numbers."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.leadtime.calendar import Calendar
from quoting.leadtime.calibration import Calibration
from quoting.leadtime.forecast import forecast, quantile
from quoting.leadtime.futures import order_lots
from quoting.leadtime.layout import lay_out, machine_units
from quoting.leadtime.queue import QueuedOrder, Task
from quoting.leadtime.whatif import (
    accepted,
    away,
    compare,
    fixed,
    held,
    ranked,
    rushed,
    with_hours,
    with_machines,
    without,
)
from tests.kit.small_shop import NOW, order, person, queue, shop
from tests.quoting.leadtime.trace import Trace

CALIBRATION = Calibration(arrivals_a_day=0.3, absence_share=0.06)
ALONE = Calibration(arrivals_a_day=0.0)
SHOPS = st.sampled_from([shop(), with_hours(shop(), 5, ((480, 720),)), with_machines(shop(), "booth")])


@st.composite
def queues(draw):
    orders = []
    for key in range(1, draw(st.integers(1, 14)) + 1):
        skip = draw(st.integers(0, 11))
        made = order(
            key, skip=skip, size=draw(st.sampled_from([0.3, 1.0, 2.2])), klass=draw(st.integers(0, 1))
        )
        if draw(st.booleans()) and made.tasks[0].work:
            who = draw(st.sampled_from(["ada", "ben", None]))
            begun = replace(made.tasks[0], started=400 - key, person=who, done=draw(st.integers(0, 200)))
            made = replace(made, tasks=(begun, *made.tasks[1:]))
        orders.append(made)
    return tuple(orders)


def most_at_once(spans):
    events = sorted((t, change) for a, b in spans if b > a for t, change in ((a, 1), (b, -1)))
    level = peak = 0
    for _, change in events:
        level += change
        peak = max(peak, level)
    return peak


@settings(max_examples=12, deadline=None)
@given(SHOPS, queues(), st.integers(0, 1000))
def test_people_machines_and_racks_never_hold_more_than_they_can(workshop, orders, seed):
    t = Trace(workshop, orders, CALIBRATION, seed)
    lay = t.problem.layout
    for p in range(len(workshop.persons)):
        assert most_at_once([(t.begin[k], t.end[k]) for k in t.tasks if t.who[k] == p]) <= 1
    units = machine_units(workshop)
    for machine in workshop.machines:
        mask = sum(1 << i for i, u in enumerate(units) if u.key == machine.key)
        spans = [(t.begin[k], t.end[k]) for k in t.tasks if lay.queue_machines[lay.queue[k]] == mask]
        assert most_at_once(spans) <= machine.count
    for r, rack in enumerate(workshop.racks):
        spans = [t.held(k) for k in t.tasks if lay.queue_rack[lay.queue[k]] == r]
        begun = sum(lay.queue_rack[lay.queue[lay.first[n]]] == r for n in lay.begun)
        assert most_at_once(spans) <= max(rack.capacity, begun)


@settings(max_examples=12, deadline=None)
@given(SHOPS, queues(), st.integers(0, 1000))
def test_tasks_follow_each_other_and_wait_out_what_they_must(workshop, orders, seed):
    t = Trace(workshop, orders, CALIBRATION, seed)
    lay = t.problem.layout
    for n in range(len(orders)):
        mine = [k for k in t.tasks if t.problem.order[k] == n]
        for a, b in zip(mine, mine[1:], strict=False):
            assert t.begin[b] >= t.held(a)[1]
        assert all(t.begin[k] >= t.gates[lay.gate[k]] for k in mine if lay.gate[k] >= 0)
        assert t.done[n] == (t.held(mine[-1])[1] if mine else NOW)


@settings(max_examples=12, deadline=None)
@given(SHOPS, queues(), st.integers(0, 1000))
def test_work_is_done_by_the_skilled_within_their_hours_and_to_the_minute(workshop, orders, seed):
    t = Trace(workshop, orders, CALIBRATION, seed)
    calendar, problem = Calendar(workshop), t.problem
    people = {p.key: p for p in workshop.persons}
    units = machine_units(workshop)
    begun = set(problem.layout.begun.tolist())
    for k in t.tasks[: 200 if len(t.tasks) > 200 else None]:
        if t.who[k] < 0:
            continue
        p, stage = people[problem.persons[t.who[k]]], workshop.stages[problem.stage[k]]
        away_days = {workshop.epoch + timedelta(days=int(d)) for d in np.flatnonzero(t.out[t.who[k]])}
        already = problem.order[k] in begun and k == problem.layout.first[problem.order[k]]
        assert already or stage.skill in p.skills
        assert already or any(
            a <= t.begin[k] % 1440 < b for a, b in calendar.shifts(p, calendar.day(int(t.begin[k])))
        )
        if stage.machine is None:
            assert calendar.finish(p, int(t.begin[k]), int(t.dur[k]), frozenset(away_days)) == t.end[k]
    assert len(units) == t.out.shape[0] - len(people)


@settings(max_examples=10, deadline=None)
@given(queues(), st.integers(0, 1000))
def test_no_order_is_done_before_its_chain_could_be(orders, seed):
    t = Trace(shop(), orders, CALIBRATION, seed)
    calendar, lay = Calendar(shop()), t.problem.layout
    for n in range(len(orders)):
        earliest = NOW
        for k in range(lay.first[n], lay.first[n + 1]):
            gate = t.gates[lay.gate[k]] if lay.gate[k] >= 0 else 0
            earliest = max(earliest, int(gate))
            if t.dur[k]:
                earliest = min(calendar.finish(p, earliest, int(t.dur[k])) for p in shop().persons)
            if t.dur[k] or t.problem.work[k] == 0:
                earliest += int(lay.wait[k])
        assert t.done[n] >= earliest


@settings(max_examples=6, deadline=None)
@given(queues(), st.integers(0, 100))
def test_percentiles_are_in_order_and_the_same_question_has_the_same_answer(orders, seed):
    first = forecast(shop(), orders, CALIBRATION, now_minute=NOW, futures=60, seed=seed)
    again = forecast(shop(), orders, CALIBRATION, now_minute=NOW, futures=60, seed=seed)
    assert (first.minutes == again.minutes).all()
    assert first.version == again.version
    for o in orders:
        assert NOW <= first.quantile(o.key, 0.5) <= first.quantile(o.key, 0.8) <= first.quantile(o.key, 0.95)


def test_more_futures_begin_with_the_same_ones():
    few = forecast(shop(), queue(8), ALONE, now_minute=NOW, futures=100, seed=3)
    many = forecast(shop(), queue(8), ALONE, now_minute=NOW, futures=600, seed=3)
    assert (many.minutes[:100] == few.minutes).all()


def test_listing_the_orders_in_another_turn_changes_nothing():
    orders = queue(10)
    one = forecast(shop(), orders, ALONE, now_minute=NOW, futures=100)
    other = forecast(shop(), orders[::-1], ALONE, now_minute=NOW, futures=100)
    assert all((one.of(o.key) == other.of(o.key)).all() for o in orders)


def test_a_week_later_everything_is_a_week_later():
    workshop = shop(
        closed=frozenset(),
        persons=(person("ada", *(s.skill for s in shop().stages)),),
        machines=tuple(replace(m, out_of_use=frozenset()) for m in shop().machines),
    )
    certain = replace(ALONE, absence_share=0.0, breakdown_share=0.0)
    orders = [order(i, skip=3) for i in range(1, 5)]
    one = forecast(workshop, orders, certain, now_minute=NOW, futures=50)
    other = forecast(workshop, orders, certain, now_minute=NOW + 7 * 1440, futures=50)
    assert (other.minutes - one.minutes == 7 * 1440).all()


def test_stopping_early_does_not_change_the_order_asked_about():
    orders = queue(12)
    whole = forecast(shop(), orders, ALONE, now_minute=NOW, futures=100)
    one = forecast(shop(), orders, ALONE, now_minute=NOW, futures=100, until_done=frozenset({orders[3].key}))
    assert (one.of(orders[3].key) == whole.of(orders[3].key)).all()


def test_what_an_order_draws_does_not_depend_on_the_others():
    few, many = (lay_out(shop(), queue(n), CALIBRATION, NOW) for n in (3, 9))
    for one, other in zip(order_lots(few, 7, 0), order_lots(many, 7, 0), strict=True):
        assert (one[:3] == other[:3, : one.shape[1]]).all()


def test_an_order_on_hold_takes_nobodys_time():
    with_it = forecast(shop(), [*queue(6), order(99, held=True)], ALONE, now_minute=NOW, futures=50)
    without = forecast(shop(), queue(6), ALONE, now_minute=NOW, futures=50)
    assert (with_it.minutes[:, :6] == without.minutes).all()
    assert (with_it.of(99) == -1).all()


def test_drying_begun_before_now_holds_its_place_for_the_rest_of_its_time():
    drying = QueuedOrder(1, "drying", 0, (Task("laminate", 0, 600, started=0), Task("condition", 60)))
    done = forecast(shop(), [drying], ALONE, now_minute=NOW, futures=50)
    assert done.of(1).min() > NOW + 600


def test_a_minute_of_the_share_asked_for_is_never_too_early():
    assert [quantile(np.arange(1, 100), q) for q in (0.5, 0.8, 0.95)] == [50, 80, 95]


# Graham's anomalies are common under non-delay dispatch: nothing is asserted of single futures or of every order.


def test_accepting_or_rushing_an_order_does_not_help_the_others_on_average():
    orders = queue(20)
    more = compare(
        (shop(), orders), (shop(), accepted(orders, order(90))), ALONE, now_minute=NOW, futures=400
    )
    rush = compare(
        (shop(), orders), (shop(), rushed(orders, orders[-1].key)), ALONE, now_minute=NOW, futures=400
    )
    assert np.mean([e.mean_days for e in more.effects]) >= -0.1
    assert np.mean([e.mean_days for e in rush.effects if e.key != orders[-1].key]) >= -0.1
    others = [e for e in rush.effects if e.key != orders[-1].key]
    assert all(e.p80_after >= e.p80_before - 3 * 1440 for e in others)  # a working day, a weekend between
    assert next(e for e in rush.effects if e.key == orders[-1].key).mean_days < -3


def test_more_hours_or_machines_do_not_hurt_on_average():
    orders = queue(20)
    for better in (with_hours(shop(), 5, ((480, 960),)), with_machines(shop(), "carver")):
        result = compare((shop(), orders), (better, orders), ALONE, now_minute=NOW, futures=400)
        assert np.mean([e.mean_days for e in result.effects]) <= 0.1


def test_an_absence_of_two_weeks_costs_order_days_and_is_told():
    orders = queue(20)
    gone = away(shop(), "ben", [date(2026, 1, 12) + timedelta(days=i) for i in range(14)])
    result = compare((shop(), orders), (gone, orders), ALONE, now_minute=NOW, futures=400)
    assert result.order_days > 5
    assert result.worth_telling
    assert result.effects[0].late_after >= result.effects[0].late_before


def test_a_newcomers_own_dates_come_with_its_effect_on_the_others():
    orders = queue(10)
    result = compare(
        (shop(), orders), (shop(), accepted(orders, order(90))), ALONE, now_minute=NOW, futures=100
    )
    assert result.newcomer == tuple(sorted(result.newcomer))
    assert {e.key for e in result.effects} == {o.key for o in orders}


@pytest.mark.parametrize("hours", [((480, 960),)])
def test_fixing_hours_of_one_person_leaves_the_others_alone(hours):
    changed = with_hours(shop(), 5, hours, ["ben"])
    assert [p.week[5] for p in changed.persons] == [(), hours, (), ()]


def test_decisions_touch_only_what_they_name():
    orders = queue(6)
    assert [o.held for o in held(orders, 3)] == [o.key == 3 for o in orders]
    assert held(held(orders, 3), 3, on_hold=False) == orders
    assert [o.rank for o in ranked(orders, 2, 5.0)] == [5.0 if o.key == 2 else None for o in orders]
    assert {o.key for o in without(orders, 4)} == {1, 2, 3, 5, 6}
    to_ada = fixed(orders, 1, "varnish", person="ada", not_before=9000)
    assert to_ada[1:] == orders[1:]
    assert {(t.locked_person, t.not_before) for t in to_ada[0].tasks} == {(None, None), ("ada", 9000)}
    with pytest.raises(KeyError):
        fixed(orders, 1, "gild", person="ada")


def test_somebody_who_is_out_today_with_no_day_of_return_delays_the_orders():
    here, gone = (
        forecast(shop(), queue(8), ALONE, now_minute=NOW, futures=100, out_now=frozenset(out))
        for out in ((), ("ada",))
    )
    assert gone.minutes.mean() > here.minutes.mean() + 600
