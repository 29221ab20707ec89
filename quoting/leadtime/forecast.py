"""Forecast: completion samples of every order in the queue, from one run over many futures."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from hashlib import sha256
from itertools import pairwise, repeat
from math import ceil, sqrt

import numpy as np
import numpy.typing as npt

from quoting.leadtime.calendar import ShopProblem
from quoting.leadtime.calibration import Calibration
from quoting.leadtime.check import require
from quoting.leadtime.engine import OK, Ints, run
from quoting.leadtime.futures import CHUNK, Draws, arrival_minutes, draw_futures
from quoting.leadtime.layout import Problem, closed_days, join, lay_out, tiled
from quoting.leadtime.load import arrivals_a_day
from quoting.leadtime.queue import OuterWait, QueuedOrder, Task
from quoting.leadtime.shop import MINUTES_A_DAY, Shop

RUSH_KEY, ORDINARY_KEY = 1 << 58, 1 << 59  # stream keys of expected orders, far from any real order's
PILOT_FUTURES = 16
LONGEST_DAYS = 20_000
THREADS = 2  # run futures side by side; the engine lets go of the interpreter
EXPECTED_SIZE_SPREAD = 0.25  # of the log work of orders not yet asked for
MOST_EXPECTED = 2_000


class Stopped(Exception):
    """Whoever asked for the run no longer wants its result."""


@dataclass(frozen=True, slots=True)
class Completions:
    """When each order is done: `minutes` [M, N], -1 where an order is held. `version` names all that went in."""

    keys: tuple[int, ...]
    minutes: Ints
    now: int
    version: str

    def of(self, key: int) -> Ints:
        """The order's completion minutes in all futures, futures in order. Raises KeyError for a stranger."""
        if key not in self.keys:
            raise KeyError(key)
        return self.minutes[:, self.keys.index(key)]

    def quantile(self, key: int, share: float) -> int:
        """The minute by which the order is done in `share` of the futures: the ceil(q (M + 1))-th smallest."""
        return quantile(self.of(key), share)

    def late(self, key: int, due: int) -> float:
        """The share of futures in which the order is done after the minute `due`."""
        return float(np.mean(self.of(key) > due))


def quantile(sample: Ints, share: float) -> int:
    """The ceil(q (M + 1))-th smallest of M values: at least as large as the share asks for."""
    place = min(max(ceil(share * (len(sample) + 1) - 1e-9), 1), len(sample)) - 1
    return int(np.partition(sample, place)[place])


def plan_version(shop: Shop, orders: Sequence[QueuedOrder], calibration: Calibration, now_minute: int) -> str:
    """A name for this very state of shop, queue and knowledge; the same state always gets the same name."""
    people = [(p.key, sorted(p.skills), p.week, sorted(p.away)) for p in shop.persons]
    machines = [(m.key, sorted(m.out_of_use)) for m in shop.machines]
    state = (
        people,
        machines,
        shop.racks,
        shop.stages,
        sorted(shop.closed),
        shop.epoch,
        tuple(orders),
        calibration,
    )
    return sha256(repr((state, now_minute)).encode()).hexdigest()[:16]


def forecast(
    shop: Shop,
    orders: Sequence[QueuedOrder],
    calibration: Calibration,
    *,
    now_minute: int,
    futures: int = 1000,
    seed: int = 0,
    typical: Sequence[Task] = (),
    until_done: frozenset[int] | None = None,
    progress: Callable[[float], bool] | None = None,
    out_now: frozenset[str] = frozenset(),
) -> Completions:
    """Completion samples of all orders, expected future orders of the `typical` route keeping the shop busy.

    Without `typical` the longest chain in the queue stands for orders to come. `until_done` names the orders
    that matter: the run stops when they are done (the others may then read -1). `out_now` names people and
    machines that are out today, nobody knows for how long. `progress` is told the share done
    after every chunk of futures and ends the run by returning False. Raises ShopProblem where something can never
    be done, Stopped when told to end.
    """
    require(shop, orders, now_minute)
    version = plan_version(shop, orders, calibration, now_minute)
    keys = tuple(o.key for o in orders)
    if not orders:
        return Completions(keys, np.empty((futures, 0), np.int64), now_minute, version)
    problem = lay_out(shop, orders, calibration, now_minute)
    if until_done is not None:
        counted = np.array([key in until_done for key in keys], np.int64)
        problem = replace(problem, layout=problem.layout._replace(counted=counted))
    now = now_minute - problem.base
    days = now // MINUTES_A_DAY + 120 + rough_days(shop, problem)
    done, days = _simulate(
        shop,
        problem,
        calibration,
        now,
        days,
        seed=seed,
        futures=min(PILOT_FUTURES, futures),
        out_now=out_now,
    )
    reach = 10 + 1.3 * (float(done[:, problem.layout.counted == 1].max(axis=1).mean()) - now) / MINUTES_A_DAY
    busy = expected_orders(shop, orders, calibration, now_minute, reach, typical)
    days = max(days, now // MINUTES_A_DAY + 60 + int(3 * reach))
    done, _ = _simulate(
        shop,
        problem,
        calibration,
        now,
        days,
        seed=seed,
        futures=futures,
        busy=busy,
        progress=progress,
        out_now=out_now,
    )
    done = done[:, : len(orders)]
    return Completions(keys, np.where(done >= 0, done + problem.base, -1), now_minute, version)


@dataclass(frozen=True, slots=True)
class Expected:
    """Orders not yet here: their chains laid out, how many of them rush, arrivals a day, until which minute."""

    problem: Problem
    rush: int
    rush_a_day: float
    ordinary_a_day: float
    until: int


def expected_orders(
    shop: Shop,
    orders: Sequence[QueuedOrder],
    calibration: Calibration,
    now: int,
    reach_days: float,
    typical: Sequence[Task] = (),
) -> Expected | None:
    """Rush and ordinary orders that keep arriving for `reach_days`; None when none are expected."""
    route = tuple(typical) or max((o.tasks for o in orders), key=len)
    a_day = arrivals_a_day(shop, route, calibration)
    counts = [
        min(ceil(rate * reach_days + 4 * sqrt(rate * reach_days)), MOST_EXPECTED)
        for rate in (a_day * calibration.rush_share, a_day * (1 - calibration.rush_share))
    ]
    if sum(counts) == 0:
        return None
    fresh = tuple(Task(t.stage, t.work, t.wait) for t in route)
    waits = (OuterWait("deposit", "customer"), OuterWait("drawing", "customer"))
    keys = [*(RUSH_KEY + i for i in range(counts[0])), *(ORDINARY_KEY + i for i in range(counts[1]))]
    problem = tiled(lay_out(shop, [QueuedOrder(keys[0], "", now, fresh, waits)], calibration, now), keys)
    spread = np.full(sum(counts), sqrt(calibration.order_variance + EXPECTED_SIZE_SPREAD**2))
    until = now - problem.base + int(reach_days * MINUTES_A_DAY)
    rates = a_day * calibration.rush_share, a_day * (1 - calibration.rush_share)
    return Expected(replace(problem, order_spread=spread), counts[0], *rates, until)


def rough_days(shop: Shop, problem: Problem) -> int:
    """A first guess at the days the whole queue takes, twice over."""
    a_week = sum(end - start for p in shop.persons for day in p.week for start, end in day)
    if a_week == 0:
        raise ShopProblem("nobody has working hours: enter weekly hours for at least one person")
    work = float(problem.work.sum())
    longest_wait = int(problem.layout.wait.sum() // max(len(problem.keys), 1)) // MINUTES_A_DAY
    return int(2 * work / a_week * 7) + 4 * longest_wait


def _simulate(
    shop: Shop,
    problem: Problem,
    calibration: Calibration,
    now: int,
    days: int,
    *,
    seed: int,
    futures: int,
    busy: Expected | None = None,
    progress: Callable[[float], bool] | None = None,
    out_now: frozenset[str] = frozenset(),
) -> tuple[Ints, int]:
    """(done [M, N], days of calendar used); the calendar doubles until every future fits."""
    whole = problem if busy is None else join(problem, busy.problem, rush=busy.rush)
    chunks = ceil(futures / CHUNK)

    def one(chunk: int, days: int) -> tuple[Ints, int]:
        size = min(CHUNK, futures - chunk * CHUNK)
        while True:
            draws = draw_futures(
                whole,
                calibration,
                closed_days(shop, whole, days),
                now,
                seed=seed,
                chunk=chunk,
                futures=size,
                arrivals=None if busy is None else _arrivals(busy, now, seed, chunk),
                out_now=out_now,
            )
            done, status = _run(whole, draws, now, pool if chunks == 1 else None)
            if (status == OK).all():
                return done, days
            days *= 2
            if days > LONGEST_DAYS:
                raise ShopProblem(stuck(problem, done))

    parts: list[Ints] = []
    with ThreadPoolExecutor(THREADS) as pool:
        for done, used in pool.map(one, range(chunks), repeat(days)) if chunks > 1 else [one(0, days)]:
            parts.append(done)
            days = max(days, used)
            if progress and not progress(len(parts) / chunks):
                pool.shutdown(wait=False, cancel_futures=True)
                raise Stopped
    return np.concatenate(parts), days


def drawn_futures(
    shop: Shop,
    orders: Sequence[QueuedOrder],
    calibration: Calibration,
    *,
    now_minute: int,
    futures: int,
    seed: int,
    days: int,
    reach_days: float,
) -> tuple[Problem, Draws]:
    """The problem with its expected orders and one chunk of drawn futures, to be looked at one by one."""
    problem = lay_out(shop, orders, calibration, now_minute)
    busy = expected_orders(shop, orders, calibration, now_minute, reach_days)
    now = now_minute - problem.base
    whole = problem if busy is None else join(problem, busy.problem, rush=busy.rush)
    arrivals = None if busy is None else _arrivals(busy, now, seed, 0)
    closed = closed_days(shop, whole, days)
    return whole, draw_futures(
        whole, calibration, closed, now, seed=seed, chunk=0, futures=futures, arrivals=arrivals
    )


def _run(
    problem: Problem, draws: Draws, now: int, pool: ThreadPoolExecutor | None = None
) -> tuple[Ints, npt.NDArray[np.int64]]:
    """(done [M, N], status [M]), the futures shared out between the threads of the pool if there is one."""
    cuts = (
        [0, len(draws.dur)] if pool is None else [len(draws.dur) * i // THREADS for i in range(THREADS + 1)]
    )

    def part(first: int, last: int) -> tuple[Ints, npt.NDArray[np.int64]]:
        some = slice(first, last)
        done, status = run(problem.layout, draws.dur[some], draws.gates[some], draws.out[some], now)
        return done, status

    ranges = [(a, b) for a, b in pairwise(cuts) if a < b]
    parts = [part(*r) for r in ranges] if pool is None else list(pool.map(part, *zip(*ranges, strict=True)))
    return np.concatenate([done for done, _ in parts]), np.concatenate([status for _, status in parts])


def _arrivals(busy: Expected, now: int, seed: int, chunk: int) -> Ints:
    ordinary = len(busy.problem.keys) - busy.rush
    parts = [
        arrival_minutes(count, rate, now, busy.until, kind=kind, seed=seed, chunk=chunk)
        for kind, (count, rate) in enumerate(((busy.rush, busy.rush_a_day), (ordinary, busy.ordinary_a_day)))
        if count
    ]
    return np.concatenate(parts)


def stuck(problem: Problem, done: Ints) -> str:
    """Which orders never get done, in words."""
    never = sum(bool((done[:, n] < 0).any()) for n in range(len(problem.keys)) if problem.layout.enters[n])
    return (
        f"{never} of {len(problem.keys)} orders are not done within {LONGEST_DAYS // 365} years: "
        "look for a person, machine or rack that is out of use for good"
    )
