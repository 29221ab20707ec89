"""The owner's plan: who does which stage when, by earliest promise first and then by search over the same engine."""

import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date

from quoting.leadtime.calendar import Calendar
from quoting.leadtime.calibration import Calibration
from quoting.leadtime.check import require
from quoting.leadtime.desk import Desk, Draft, desk_of, draft_cost, draft_of, lateness, pinned_orders, play
from quoting.leadtime.forecast import plan_version
from quoting.leadtime.layout import rank_key
from quoting.leadtime.queue import QueuedOrder
from quoting.leadtime.search import search_plans
from quoting.leadtime.shop import Shop

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
    drafts = [draft_of(desk, rule) for rule in _rules(orders, free, start)]
    first_cost = lateness(desk, drafts[0])
    first = min(drafts, key=lambda draft: draft_cost(desk, draft))
    best, tried = _search(desk, first, seconds, decodes, seed, progress, clock)
    return _written(shop, orders, desk, best, version, now_minute, first_cost, tried)


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
    first = pinned_orders(orders)
    return [[*first, *(n for n in rule if n not in first)] for rule in rules]


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
    begun, first_cost = clock(), draft_cost(desk, start)
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
    cost = lateness(desk, best)
    done, _, begin, end, who = play(desk, best)
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
