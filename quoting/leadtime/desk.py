"""One future with planning durations laid ready for the search, and drafts of a plan played on it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from quoting.leadtime.calendar import ShopProblem
from quoting.leadtime.calibration import Calibration
from quoting.leadtime.engine import OK, Floats, Ints, Layout, Minutes
from quoting.leadtime.forecast import LONGEST_DAYS, rough_days, stuck
from quoting.leadtime.futures import wait_lengths
from quoting.leadtime.hours import NEVER, timetable
from quoting.leadtime.layout import Problem, closed_days, lay_out, rank_key, with_single_hands
from quoting.leadtime.queue import QueuedOrder
from quoting.leadtime.search import IMPOSSIBLE, cost_of, decode
from quoting.leadtime.shop import MINUTES_A_DAY, Shop


@dataclass(frozen=True, slots=True)
class Desk:
    """One future with planning durations, ready for the engine: median work, no rework, no absence unforeseen."""

    problem: Problem
    layout: Layout
    table: Ints
    dur: Minutes
    gates: Ints
    out: npt.NDArray[np.uint8]
    now: int
    due: Ints
    weight: Floats
    pinned: int
    choices: Ints

    @property
    def setting(self) -> tuple[object, ...]:
        """What the compiled search plays on; ranks and queues are its own to overwrite."""
        layout = self.layout._replace(rank=self.layout.rank.copy(), queue=self.layout.queue.copy())
        return layout, self.table, self.dur, self.gates, self.out, self.now


@dataclass(frozen=True, slots=True)
class Draft:
    """A plan as the search holds it: orders in turn of urgency; per task, places it goes sooner, minute it waits for,
    the person it is given to (-1: whoever is free), and the queue it stands in while it is given to nobody.
    """

    places: Ints
    shift: Ints
    hold: Ints
    hand: Ints
    usual: Ints

    @property
    def parts(self) -> tuple[Ints, Ints, Ints, Ints, Ints]:
        return self.places, self.shift, self.hold, self.hand, self.usual

    def copy(self) -> "Draft":
        return Draft(*(part.copy() for part in self.parts))


def desk_of(shop: Shop, orders: Sequence[QueuedOrder], calibration: Calibration, now_minute: int) -> Desk:
    """Planning durations and the calendar they need. Raises ShopProblem when some order is never done."""
    problem = lay_out(shop, orders, calibration, now_minute)
    now = now_minute - problem.base
    dur = np.maximum(1, np.rint(problem.work * np.exp(problem.mean))).astype(np.int32)
    dur[(problem.work == 0) | (problem.pass_number > 0)] = 0
    for begun in problem.begun:
        if problem.work[begun.task] > 0:
            dur[begun.task] = max(dur[begun.task] - begun.done, round(0.15 * dur[begun.task]), 1)
    due = np.array([NEVER if o.due is None else o.due - problem.base for o in orders], np.int64)
    weight = np.array([o.weight for o in orders], np.float64)
    tasks = len(dur)
    layout = problem.layout._replace(rank=problem.layout.rank.copy(), gate=np.arange(tasks, dtype=np.int64))
    columns = _median_gates(problem, calibration, now)
    gates = np.where(problem.layout.gate >= 0, columns[problem.layout.gate], 0)
    layout, choices = with_single_hands(layout, len(problem.persons))
    days = now // MINUTES_A_DAY + 60 + rough_days(shop, problem)
    while True:
        out = closed_days(shop, problem, days)
        table = timetable(layout.shifts, layout.shift_count, days)
        desk = Desk(
            problem, layout, table, dur, gates, out, now, due, weight, len(pinned_orders(orders)), choices
        )
        done, status, *_ = play(desk, draft_of(desk, range(len(orders))))
        if status == OK:
            # room for worse plans than this one
            days = min(2 * days, LONGEST_DAYS)
            table = timetable(layout.shifts, layout.shift_count, days)
            return replace(desk, table=table, out=closed_days(shop, problem, days))
        days *= 2
        if days > LONGEST_DAYS:
            raise ShopProblem(stuck(problem, done[None]))


def pinned_orders(orders: Sequence[QueuedOrder]) -> list[int]:
    """Orders whose place is the owner's word: the ranked ones, and rush orders that go before them."""
    if all(o.held or o.rank is None for o in orders):
        return []
    named = [n for n, o in enumerate(orders) if not o.held and (o.rank is not None or o.klass == 0)]
    return sorted(named, key=lambda n: rank_key(orders[n]))


def _median_gates(problem: Problem, calibration: Calibration, now: int) -> Ints:
    opens = np.zeros(max(len(problem.gates), 1), np.int64)
    for g, gate in enumerate(problem.gates):
        opens[g] = gate.not_before
        for wait in gate.waits:
            since = now if wait.since is None else wait.since - problem.base
            days = wait_lengths(wait.kind, calibration, np.zeros(1), max(0.0, (now - since) / MINUTES_A_DAY))
            opens[g] = max(opens[g], since + int(np.ceil(days[0] * MINUTES_A_DAY)))
    return opens


def draft_of(desk: Desk, places: Sequence[int]) -> Draft:
    nothing = np.zeros(len(desk.dur), np.int64)
    usual = desk.layout.queue.copy()
    return Draft(np.array(places, np.int64), nothing, nothing.copy(), nothing - 1, usual)


def play(desk: Desk, draft: Draft) -> tuple[Ints, int, Ints, Ints, Ints]:
    """(done, status, begin, end, who) of the draft."""
    tasks = len(desk.dur)
    done = np.empty(len(desk.problem.keys), np.int64)
    opens = np.zeros(max(tasks, 1), np.int64)
    begin, end, who = (np.empty(max(tasks, 1), np.int64) for _ in range(3))
    status = decode(desk.setting, desk.pinned, desk.choices, draft.parts, opens, done, begin, end, who)
    return done, status, begin, end, who


def draft_cost(desk: Desk, draft: Draft) -> float:
    """What the search makes small: weighted minutes late and a little of the time in the shop."""
    done, status, *_ = play(desk, draft)
    return float(cost_of(done, desk.due, desk.weight, 0.0)) if status == OK else IMPOSSIBLE


def lateness(desk: Desk, draft: Draft) -> float:
    done = play(desk, draft)[0]
    return float((desk.weight * np.maximum(done - desk.due, 0))[done >= 0].sum())
