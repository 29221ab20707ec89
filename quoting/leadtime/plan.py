"""The owner's plan: who does which stage when, by earliest promise first and then by search over the same engine."""

import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import numpy.typing as npt

from quoting.leadtime.calendar import Calendar, ShopProblem
from quoting.leadtime.calibration import Calibration
from quoting.leadtime.check import require
from quoting.leadtime.engine import OK, Floats, Ints, Layout
from quoting.leadtime.forecast import LONGEST_DAYS, plan_version, rough_days, stuck
from quoting.leadtime.futures import wait_lengths
from quoting.leadtime.hours import NEVER, timetable
from quoting.leadtime.layout import Problem, closed_days, lay_out, rank_key, with_single_hands
from quoting.leadtime.queue import QueuedOrder
from quoting.leadtime.search import IMPOSSIBLE, cost_of, decode, search_plans
from quoting.leadtime.shop import MINUTES_A_DAY, Shop

FIRST_HEAT, LAST_HEAT = 0.02, 0.0002  # share of the cost by which a worse plan is accepted early and late
STEP_SECONDS = 0.2
COARSE_UNTIL, FINE_SHARE = 0.15, 0.75  # whole orders first, then single tasks too
WALKS, ROUNDS = 2, 4  # annealings side by side, and how often each is heated again


@dataclass(frozen=True, slots=True)
class Assignment:
    """One stage in the plan: minutes of begin, end of work and end of the wait after it. `task` counts in the order."""

    order: int
    task: int
    stage: str
    person: str | None
    begin: int
    end: int
    ready: int


@dataclass(frozen=True, slots=True)
class Bottleneck:
    """The person most in demand: the share of their working time until the plan's end that is taken."""

    person: str
    share: float


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search has come: share of its budget, cost at first and at best, plans tried.

    The cost is weighted minutes late and a hundredth of the minutes in the shop.
    """

    share: float
    first_cost: float
    best_cost: float
    tried: int


@dataclass(frozen=True, slots=True)
class Plan:
    """Who does which stage when. `ranks` in turn of urgency; `late` minutes after the promise, weightiest first.

    `first_cost` is that of earliest promise first, `cost` that of this plan: weighted minutes late.
    """

    version: str
    now: int
    ranks: tuple[int, ...]
    assignments: tuple[Assignment, ...]
    completions: tuple[tuple[int, int], ...]
    late: tuple[tuple[int, int], ...]
    first_cost: float
    cost: float
    tried: int
    bottleneck: Bottleneck | None


@dataclass(frozen=True, slots=True)
class Desk:
    """One future with planning durations, ready for the engine: median work, no rework, no absence unforeseen."""

    problem: Problem
    layout: Layout
    table: Ints
    dur: Ints
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


def plan(
    shop: Shop,
    orders: Sequence[QueuedOrder],
    calibration: Calibration,
    *,
    now_minute: int,
    seconds: float = 5.0,
    decodes: int | None = None,
    seed: int = 0,
    progress: Callable[[Progress], bool] | None = None,
    clock: Callable[[], float] = time.monotonic,
    start: Sequence[int] = (),
) -> Plan:
    """The best plan found within `seconds` (or exactly `decodes` tries, which makes it repeatable).

    Begun work stays where it is; persons, days and ranks the owner has fixed are kept. `start` are the keys of
    orders in the turn of an earlier plan, from which the search may begin too. `progress` is called a few times
    a second and ends the search by returning False: the best plan so far is returned. Raises ShopProblem.
    """
    require(shop, orders, now_minute)
    version = plan_version(shop, orders, calibration, now_minute)
    desk = desk_of(shop, orders, calibration, now_minute)
    free = [n for n, o in enumerate(orders) if not o.held]
    drafts = [_draft(desk, rule) for rule in _rules(orders, free, start)]
    first_cost = _lateness(desk, drafts[0])
    first = min(drafts, key=lambda draft: _cost(desk, draft))
    best, tried = _search(desk, first, seconds, decodes, seed, progress, clock)
    return _written(shop, orders, desk, best, version, now_minute, first_cost, tried)


def desk_of(shop: Shop, orders: Sequence[QueuedOrder], calibration: Calibration, now_minute: int) -> Desk:
    """Planning durations and the calendar they need. Raises ShopProblem when some order is never done."""
    problem = lay_out(shop, orders, calibration, now_minute)
    now = now_minute - problem.base
    dur = np.maximum(1, np.rint(problem.work * np.exp(problem.mean))).astype(np.int64)
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
        desk = Desk(problem, layout, table, dur, gates, out, now, due, weight, len(_pinned(orders)), choices)
        done, status, *_ = _play(desk, _draft(desk, range(len(orders))))
        if status == OK:
            # room for worse plans than this one
            days = min(2 * days, LONGEST_DAYS)
            table = timetable(layout.shifts, layout.shift_count, days)
            return replace(desk, table=table, out=closed_days(shop, problem, days))
        days *= 2
        if days > LONGEST_DAYS:
            raise ShopProblem(stuck(problem, done[None]))


def day_sheet(plan: Plan, shop: Shop, person: str, day: date) -> tuple[tuple[Assignment, int, int], ...]:
    """What the person does that day: (assignment, first minute, last minute) of each stretch within working hours."""
    calendar = Calendar(shop)
    who = next(p for p in shop.persons if p.key == person)
    midnight = calendar.minute(day)
    rows = []
    for a in plan.assignments:
        for opens, closes in calendar.shifts(who, day) if a.person == person else ():
            begin, end = max(a.begin, midnight + opens), min(a.end, midnight + closes)
            if begin < end:
                rows.append((a, begin, end))
    return tuple(sorted(rows, key=lambda row: row[1]))


def _rules(orders: Sequence[QueuedOrder], free: Sequence[int], start: Sequence[int] = ()) -> list[list[int]]:
    """Earliest promise first, the same by weight, the ranks as they stand, and an earlier plan's turn.

    What the owner has ranked goes first in each, as it is ranked.
    """

    def due(n: int) -> float:
        promised = orders[n].due
        return float("inf") if promised is None else promised

    rules = [
        sorted(free, key=lambda n: (due(n), orders[n].arrived, orders[n].key)),
        sorted(free, key=lambda n: (-orders[n].weight, due(n), orders[n].arrived)),
        sorted(free, key=lambda n: rank_key(orders[n])),
    ]
    if start:
        turn = {key: place for place, key in enumerate(start)}
        rules.append(sorted(free, key=lambda n: (turn.get(orders[n].key, len(turn)), due(n), orders[n].key)))
    first = _pinned(orders)
    return [[*first, *(n for n in rule if n not in first)] for rule in rules]


def _pinned(orders: Sequence[QueuedOrder]) -> list[int]:
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


def _draft(desk: Desk, places: Sequence[int]) -> Draft:
    nothing = np.zeros(len(desk.dur), np.int64)
    usual = desk.layout.queue.copy()
    return Draft(np.array(places, np.int64), nothing, nothing.copy(), nothing - 1, usual)


def _play(desk: Desk, draft: Draft) -> tuple[Ints, int, Ints, Ints, Ints]:
    """(done, status, begin, end, who) of the draft."""
    tasks = len(desk.dur)
    done = np.empty(len(desk.problem.keys), np.int64)
    opens = np.zeros(max(tasks, 1), np.int64)
    begin, end, who = (np.empty(max(tasks, 1), np.int64) for _ in range(3))
    status = decode(desk.setting, desk.pinned, desk.choices, draft.parts, opens, done, begin, end, who)
    return done, status, begin, end, who


def _cost(desk: Desk, draft: Draft) -> float:
    """What the search makes small: weighted minutes late and a little of the time in the shop."""
    done, status, *_ = _play(desk, draft)
    return float(cost_of(done, desk.due, desk.weight, 0.0)) if status == OK else IMPOSSIBLE


def _lateness(desk: Desk, draft: Draft) -> float:
    done = _play(desk, draft)[0]
    return float((desk.weight * np.maximum(done - desk.due, 0))[done >= 0].sum())


@dataclass(slots=True)
class _Walk:
    """One of the annealings that run side by side: where it is, the best it has seen, and their costs."""

    draft: Draft
    best: Draft
    setting: tuple[object, ...]
    cost: float
    best_cost: float
    tried: int = 0

    def step(self, desk: Desk, heat: float, fine: float, batch: int, seed: int) -> None:
        self.cost, self.best_cost = search_plans(
            self.setting,
            desk.pinned,
            desk.choices,
            desk.due,
            desk.weight,
            self.draft.parts,
            self.best.parts,
            self.cost,
            self.best_cost,
            heat,
            fine,
            batch,
            seed,
        )
        self.tried += batch

    def take_over(self, other: "_Walk") -> None:
        """Go on from the best of the other."""
        self.draft, self.best = other.best.copy(), other.best.copy()
        self.cost = self.best_cost = other.best_cost


def _search(
    desk: Desk,
    start: Draft,
    seconds: float,
    decodes: int | None,
    seed: int,
    progress: Callable[[Progress], bool] | None,
    clock: Callable[[], float],
) -> tuple[Draft, int]:
    """(best draft, plans tried). The heat falls with the share of the budget that is used, in several rounds.

    Two walks run side by side; at the end of each round the worse goes on from the better's best.
    """
    if len(start.places) < 1:
        return start, 0
    begun, first_cost = clock(), _cost(desk, start)
    walks = [_Walk(start.copy(), start.copy(), desk.setting, first_cost, first_cost) for _ in range(WALKS)]
    share, batch, round_number = 0.0, 50, 0
    with ThreadPoolExecutor(WALKS) as pool:
        while share < 1.0:
            if decodes is not None:
                batch = min(250, max(1, (decodes - walks[0].tried * WALKS) // WALKS))
            within = share * ROUNDS % 1.0
            heat = FIRST_HEAT * (LAST_HEAT / FIRST_HEAT) ** within
            fine = FINE_SHARE if share > COARSE_UNTIL else 0.0
            before = clock()
            steps = [
                pool.submit(walk.step, desk, heat, fine, batch, (seed + walk.tried) * WALKS + i)
                for i, walk in enumerate(walks)
            ]
            for step in steps:
                step.result()
            took = max(clock() - before, 1e-6)
            tried = sum(walk.tried for walk in walks)
            if decodes is None:
                batch = int(min(max(batch * STEP_SECONDS / took, 10), 50_000))
                share = (clock() - begun) / seconds
            else:
                share = tried / decodes
            better, worse = sorted(walks, key=lambda walk: walk.best_cost)
            if int(share * ROUNDS) > round_number:
                round_number = int(share * ROUNDS)
                worse.take_over(better)
                better.take_over(better)
            if progress and not progress(Progress(min(share, 1.0), first_cost, better.best_cost, tried)):
                break
    return better.best, tried


def _written(
    shop: Shop,
    orders: Sequence[QueuedOrder],
    desk: Desk,
    best: Draft,
    version: str,
    now_minute: int,
    first_cost: float,
    tried: int,
) -> Plan:
    cost = _lateness(desk, best)
    done, _, begin, end, who = _play(desk, best)
    problem, base = desk.problem, desk.problem.base
    rows = [
        Assignment(
            orders[problem.order[k]].key,
            int(problem.source[k]),
            shop.stages[problem.stage[k]].key,
            problem.persons[who[k]] if who[k] >= 0 else None,
            int(begin[k]) + base,
            int(end[k]) + base,
            int(end[k] + problem.layout.wait[k]) + base,
        )
        for k in range(len(desk.dur))
        if begin[k] >= 0
    ]
    completions = tuple((o.key, int(done[n]) + base) for n, o in enumerate(orders) if done[n] >= 0)
    finished = dict(completions)
    late = [(o, finished[o.key] - o.due) for o in orders if o.key in finished and o.due is not None]
    return Plan(
        version=version,
        now=now_minute,
        ranks=tuple(orders[n].key for n in best.places),
        assignments=tuple(sorted(rows, key=lambda a: (a.begin, a.order))),
        completions=completions,
        late=tuple((o.key, m) for o, m in sorted(late, key=lambda pair: -pair[0].weight * pair[1]) if m > 0),
        first_cost=first_cost,
        cost=cost,
        tried=tried,
        bottleneck=_bottleneck(shop, rows, now_minute),
    )


def _bottleneck(shop: Shop, rows: Sequence[Assignment], now_minute: int) -> Bottleneck | None:
    calendar = Calendar(shop)
    last = max((a.end for a in rows), default=now_minute)
    shares = []
    for p in shop.persons:
        there = calendar.working_minutes(p, now_minute, last)
        taken = sum(
            calendar.working_minutes(p, max(a.begin, now_minute), a.end) for a in rows if a.person == p.key
        )
        if there:
            shares.append(Bottleneck(p.key, taken / there))
    return max(shares, key=lambda b: b.share, default=None)
