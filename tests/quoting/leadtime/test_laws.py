"""Further laws of the dispatch: nothing startable stands idle, bounds on the whole, scaling, and the single FIFO stage."""

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.leadtime.calendar import Calendar
from quoting.leadtime.calibration import Calibration, ReworkLoop
from quoting.leadtime.engine import run
from quoting.leadtime.forecast import forecast
from quoting.leadtime.queue import QueuedOrder, Task
from tests.kit.small_shop import NOW, queue, shop
from tests.kit.stations import stations
from tests.quoting.leadtime.trace import Trace

CALIBRATION = Calibration(arrivals_a_day=0.3, absence_share=0.05)
CLOSED = np.zeros((1, 6, 1), np.uint8)


def could_start(t: Trace, k: int, at: int) -> bool:
    """Whether at that minute a person, a machine and a place for the task were free."""
    lay, problem = t.problem.layout, t.problem
    q, day = lay.queue[k], at // 1440
    running = [j for j in t.tasks if t.begin[j] <= at < t.end[j]]
    calendar, people = Calendar(t.shop), {p.key: p for p in t.shop.persons}
    if lay.queue_people[q]:
        idle = [
            p
            for p, key in enumerate(problem.persons)
            if lay.queue_people[q] >> p & 1
            and not t.out[p, day]
            and all(t.who[j] != p for j in running)
            and any(a <= at % 1440 < b for a, b in calendar.shifts(people[key], calendar.day(at)))
        ]
        if not idle:
            return False
    units = lay.queue_machines[q]
    if units:
        usable = sum(
            not t.out[len(people) + m, day] for m in range(len(t.out) - len(people)) if units >> m & 1
        )
        if sum(lay.queue_machines[lay.queue[j]] == units for j in running) >= usable:
            return False
    rack = lay.queue_rack[q]
    drying = [j for j in t.tasks if t.held(j)[0] <= at < t.held(j)[1]]
    return rack < 0 or sum(lay.queue_rack[lay.queue[j]] == rack for j in drying) < lay.capacity[rack]


@settings(max_examples=8)
@given(st.integers(0, 10_000), st.integers(4, 16))
def test_nothing_that_could_start_is_left_standing(seed, count):
    t = Trace(shop(), queue(count), CALIBRATION, seed)
    rng, lay = np.random.default_rng(seed), t.problem.layout
    waited = 0
    for n in range(count):
        free = NOW
        for k in (k for k in t.tasks if lay.first[n] <= k < lay.first[n + 1]):
            ready = max(free, t.gate(k))
            for at in rng.integers(ready, t.begin[k], 3) if t.begin[k] > ready else ():
                waited += 1
                assert not could_start(t, k, int(at))
            free = t.held(k)[1]
    assert waited or count < 6


@settings(max_examples=8)
@given(st.integers(0, 10_000), st.integers(1, 12))
def test_the_whole_takes_at_least_each_machines_work_and_everybodys_share(seed, count):
    t = Trace(shop(), queue(count), replace(CALIBRATION, arrivals_a_day=0.0), seed)
    lay, span = t.problem.layout, int(t.done.max()) - NOW
    worked = [k for k in t.tasks if t.who[k] >= 0]
    assert span >= sum(int(t.dur[k]) for k in worked) / len(shop().persons)
    for units in set(lay.queue_machines.tolist()) - {0}:
        work = sum(int(t.dur[k]) for k in worked if lay.queue_machines[lay.queue[k]] == units)
        assert span >= work / int(units).bit_count()


@settings(max_examples=20)
@given(st.integers(2, 9), st.integers(0, 10_000))
def test_without_a_calendar_all_times_scale_together(factor, seed):
    rng = np.random.default_rng(seed)
    lay = stations([2, 1], [0, 1, 0], 12)._replace(
        wait=np.tile([7, 0, 3], 12), queue_rack=np.array([0, -1]), capacity=np.array([3])
    )
    dur, gates = rng.integers(1, 60, (1, 36)).astype(np.int32), np.sort(rng.integers(0, 300, (1, 12)))
    one, _ = run(lay, dur, gates, CLOSED[:, :3], 0)
    other, _ = run(lay._replace(wait=lay.wait * factor), dur * factor, gates * factor, CLOSED[:, :3], 0)
    assert (other == factor * one).all()


def test_passes_that_do_not_take_place_change_nothing():
    never = ReworkLoop(again=1e-9)
    one, other = (
        forecast(
            shop(),
            queue(10),
            Calibration(arrivals_a_day=0.0, rework=replace(never, most=most)),
            now_minute=NOW,
            futures=60,
        )
        for most in (0, 4)
    )
    assert (one.minutes == other.minutes).all()


def test_begun_work_stays_with_its_person_in_every_future():
    running = QueuedOrder(
        1, "running", 0, (Task("sand", 120, started=400, person="ben", done=30), Task("crate", 20))
    )
    for seed in range(5):
        t = Trace(shop(), [*queue(8)[1:], running], CALIBRATION, seed)
        k = t.problem.layout.first[7]
        assert t.problem.persons[t.who[k]] == "ben"
        assert t.begin[k] == NOW


@settings(max_examples=25)
@given(st.integers(1, 4), st.integers(0, 10_000))
def test_at_one_stage_first_come_first_served_nobody_later_matters_and_longer_service_helps_nobody(
    servers, seed
):
    """Kiefer & Wolfowitz, Transactions of the AMS 78 (1955) 1."""
    rng = np.random.default_rng(seed)
    lay, few = stations([servers], [0], 30), stations([servers], [0], 20)
    arrive = np.cumsum(rng.integers(0, 40, (1, 30)), axis=1)
    dur = rng.integers(1, 90, (1, 30)).astype(np.int32)
    closed = CLOSED[:, :servers]
    whole, _ = run(lay, dur, arrive, closed, 0)
    early, _ = run(few, dur[:, :20], arrive[:, :20], closed, 0)
    assert (whole[:, :20] == early).all()
    longer = dur.copy()
    longer[0, rng.integers(30)] += 50
    assert (run(lay, longer, arrive, closed, 0)[0] >= whole).all()
