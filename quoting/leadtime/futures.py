"""Draws the futures: work, redoing, waits and absences, in streams keyed by order, person and date.

Adding, moving or removing an order never changes what another order draws, so that differences between two
runs are differences between two decisions and not between two dice.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from math import log
from typing import cast

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri

from quoting.leadtime.calibration import Calibration
from quoting.leadtime.engine import NEVER, Floats, Ints, draw, mark_spells
from quoting.leadtime.layout import FIRST_WAIT_SLOT, ORDER_SLOT, PASSES_SLOT, WAIT_KINDS, Problem
from quoting.leadtime.queue import OuterWait
from quoting.leadtime.shop import MINUTES_A_DAY

CHUNK = 250  # futures drawn together; a run of more futures repeats the first ones
KEPT_STREAMS = 2_000  # about 40 kB each
THREADS = 2  # fill random numbers side by side
DATE_BLOCK = 64  # days whose absences come from one stream
ORDERS, EFFECTS, PEOPLE, ARRIVALS = 0, 1, 2, 3
LEAST_REMAINING = 0.15  # of the drawn duration: begun work is rarely as good as done

Single = npt.NDArray[np.float32]


def stream(purpose: int, key: int, seed: int, chunk: int) -> np.random.Generator:
    """The random numbers of one purpose and key; the same key gives the same numbers whatever else is drawn."""
    first = (purpose << 60) ^ (key & ((1 << 60) - 1))
    return np.random.Generator(np.random.Philox(key=np.array([first, (seed << 12) ^ chunk], np.uint64)))


@dataclass(frozen=True, slots=True)
class Draws:
    """What one chunk of M futures holds: dur [M, T] and gates [M, G] minutes, out [M, P + K, days]."""

    dur: npt.NDArray[np.int32]
    gates: Ints
    out: npt.NDArray[np.uint8]


def draw_futures(
    problem: Problem,
    calibration: Calibration,
    closed: npt.NDArray[np.uint8],
    now: int,
    *,
    seed: int,
    chunk: int,
    futures: int,
    arrivals: Ints | None = None,
) -> Draws:
    """Draw `futures` <= CHUNK futures of the chunk; `now` counts from the problem's base.

    `arrivals` [expected orders, M]: the minute each expected order arrives (NEVER: it does not); they are the
    last orders of the problem.
    """
    normal = order_normals(problem, seed, chunk)
    passes = _passes(normal[:, PASSES_SLOT], calibration)
    effect = _effects(problem, calibration, seed, chunk)
    remaining = _remaining(problem, normal, effect)
    dur = np.empty((futures, len(problem.work)), np.int32)
    draw(
        dur,
        problem.work,
        problem.mean,
        problem.spread,
        problem.slot,
        problem.stage,
        problem.order,
        problem.order_spread,
        problem.pass_number,
        effect,
        passes,
        normal,
        remaining,
        problem.running,
    )
    gates = _gates(problem, calibration, normal, now, arrivals)[:, :futures]
    out = _absences(problem, calibration, closed, now, seed, chunk, futures)
    return Draws(dur, np.ascontiguousarray(gates.T), out)


def order_normals(problem: Problem, seed: int, chunk: int) -> Single:
    """[N, slots, CHUNK] standard normal numbers, a stream per order."""
    normal = np.empty((len(problem.keys), problem.slots, CHUNK), np.float32)

    def fill(first: int) -> None:
        for n in range(first, len(problem.keys), THREADS):
            normal[n] = _one_orders_normals(problem.keys[n], seed, chunk, problem.slots)

    with ThreadPoolExecutor(THREADS) as pool:
        list(pool.map(fill, range(THREADS)))
    return normal


@lru_cache(maxsize=KEPT_STREAMS)
def _one_orders_normals(key: int, seed: int, chunk: int, slots: int) -> Single:
    """[slots, CHUNK]; kept, because comparisons and probes ask for the same orders again and again."""
    return stream(ORDERS, key, seed, chunk).standard_normal((slots, CHUNK), dtype=np.float32)


def _passes(z: Single, calibration: Calibration) -> npt.NDArray[np.int32]:
    """How often the rework loop's stage is done: geometric. What was redone already changes nothing to come."""
    again = min(max(calibration.rework.again, 1e-9), 0.95)
    tail = np.maximum(ndtr(-z.astype(np.float64)), 1e-12)
    return cast(npt.NDArray[np.int32], (1 + np.floor(np.log(tail) / log(again))).astype(np.int32))


def _effects(problem: Problem, calibration: Calibration, seed: int, chunk: int) -> Floats:
    """[stages, CHUNK]: what all orders of a future share, for the whole shop and for each stage."""
    rng = stream(EFFECTS, 0, seed, chunk)
    shop = calibration.shop_spread * rng.standard_normal(CHUNK)
    return shop + problem.stage_spread[:, None] * rng.standard_normal((len(problem.stage_spread), CHUNK))


def _remaining(problem: Problem, normal: Single, effect: Floats) -> npt.NDArray[np.int32]:
    """[CHUNK, R] minutes left of begun work: the duration given that it exceeds what is done, less that."""
    left = np.zeros((CHUNK, max(len(problem.begun), 1)), np.int32)
    for column, begun in enumerate(problem.begun):
        k = begun.task
        n = problem.order[k]
        if problem.work[k] == 0:
            continue
        centre = problem.mean[k] + problem.order_spread[n] * normal[n, ORDER_SLOT] + effect[problem.stage[k]]
        z = normal[n, problem.slot[k]].astype(np.float64)
        if begun.done > 0 and problem.spread[k] > 0:
            least = (log(begun.done / problem.work[k]) - centre) / problem.spread[k]
            z = np.maximum(least, -ndtri(np.maximum(ndtr(-z) * ndtr(-least), 1e-300)))
        whole = problem.work[k] * np.exp(centre + problem.spread[k] * z)
        left[:, column] = np.maximum(1, np.round(np.maximum(whole - begun.done, LEAST_REMAINING * whole)))
    return left


def wait_lengths(wait: OuterWait, calibration: Calibration, z: Floats, age: float) -> Floats:
    """Days the wait lasts in all, given that it has lasted `age` days already."""
    usual = calibration.wait(wait.kind)
    centre = log(max(usual.median_days, 1e-3))
    if age > 0 and usual.spread > 0:
        least = (log(age) - centre) / usual.spread
        z = np.maximum(least, -ndtri(np.maximum(ndtr(-z) * ndtr(-least), 1e-300)))
    return cast(Floats, np.maximum(np.exp(centre + usual.spread * z), age))


def _gates(
    problem: Problem, calibration: Calibration, normal: Single, now: int, arrivals: Ints | None
) -> npt.NDArray[np.int64]:
    """[G, CHUNK] the minute each gate opens."""
    opens = np.zeros((max(len(problem.gates), 1), CHUNK), np.int64)
    expected_from = len(problem.keys) - (0 if arrivals is None else len(arrivals))
    for g, gate in enumerate(problem.gates):
        joins = np.full(CHUNK, now)
        opens[g] = gate.not_before
        if arrivals is not None and gate.order >= expected_from:
            joins = arrivals[gate.order - expected_from]
            opens[g] = joins
        for wait in gate.waits:
            slot = FIRST_WAIT_SLOT + (
                WAIT_KINDS.index(wait.kind) if wait.kind in WAIT_KINDS else len(WAIT_KINDS)
            )
            begins = joins if wait.since is None else np.full(CHUNK, wait.since - problem.base)
            age = 0.0 if wait.since is None else max(0.0, (now - (wait.since - problem.base)) / MINUTES_A_DAY)
            days = wait_lengths(wait, calibration, normal[gate.order, slot].astype(np.float64), age)
            opens[g] = np.maximum(opens[g], begins + np.ceil(days * MINUTES_A_DAY).astype(np.int64))
        opens[g][joins >= NEVER] = NEVER
    return opens


def _absences(
    problem: Problem,
    calibration: Calibration,
    closed: npt.NDArray[np.uint8],
    now: int,
    seed: int,
    chunk: int,
    futures: int,
) -> npt.NDArray[np.uint8]:
    """[M, P + K, days]: the closed days and drawn spells of absence and breakdown, none begun before tomorrow."""
    rows, days = closed.shape
    out = np.repeat(closed[None], futures, axis=0)
    first = problem.base // MINUTES_A_DAY
    blocks = range(first // DATE_BLOCK, (first + days) // DATE_BLOCK + 1)
    for row in range(rows):
        person = row < len(problem.persons)
        share = calibration.absence_share if person else calibration.breakdown_share
        mean = calibration.absence_spell if person else calibration.breakdown_spell
        if share <= 0:
            continue
        rate = share / (1 - share) / mean
        for block in blocks:
            rng = stream(PEOPLE, (row << 32) + block, seed, chunk)
            count = rng.binomial(CHUNK * DATE_BLOCK, rate)
            place = rng.integers(CHUNK * DATE_BLOCK, size=count)
            length = rng.geometric(min(1.0, 1 / mean), count)
            mark_spells(
                out, row, place, length, block * DATE_BLOCK - first, DATE_BLOCK, now // MINUTES_A_DAY + 1
            )
    return out


def arrival_minutes(
    count: int, a_day: float, now: int, until: int, *, kind: int, seed: int, chunk: int
) -> Ints:
    """[count, CHUNK] arrival minutes of expected orders: a Poisson stream of `a_day` that ends at `until`."""
    rng = stream(ARRIVALS, kind, seed, chunk)
    gaps = rng.standard_exponential((count, CHUNK)) * (MINUTES_A_DAY / a_day)
    minutes = now + np.ceil(np.cumsum(gaps, axis=0)).astype(np.int64)
    return np.where(minutes > until, NEVER, minutes)
