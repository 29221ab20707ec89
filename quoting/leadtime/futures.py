"""Draws the futures: work, redoing, waits and absences, in streams keyed by order, person and date.

Adding, moving or removing an order never changes what another order draws, so that differences between two
runs are differences between two decisions and not between two dice.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import log
from typing import cast

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri

from quoting.leadtime.calibration import Calibration
from quoting.leadtime.durations import fill, mark_spells
from quoting.leadtime.engine import Floats, Ints
from quoting.leadtime.hours import NEVER
from quoting.leadtime.layout import (
    FIRST_STAGE_SLOT,
    FIRST_WAIT_SLOT,
    ORDER_SLOT,
    PASSES_SLOT,
    WAIT_KINDS,
    Problem,
)
from quoting.leadtime.shop import MINUTES_A_DAY

CHUNK = 250  # futures drawn together; a run of more futures repeats the first ones
KEPT_STREAMS = 1_600  # about 40 kB each
DATE_BLOCK = 64  # days whose absences come from one stream
ORDERS, EFFECTS, PEOPLE, ARRIVALS, SPELLS = 0, 1, 2, 3, 4
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
    out_now: frozenset[str] = frozenset(),
) -> Draws:
    """Draw `futures` <= CHUNK futures of the chunk; `now` counts from the problem's base.

    `arrivals` [expected orders, M]: the minute each expected order arrives (NEVER: it does not); they are the
    last orders of the problem. `out_now` names people and machines that are out today, nobody knows for how long.
    """
    head, own = order_lots(problem, seed, chunk, futures)
    effect = _effects(problem, calibration, seed, chunk)[:, :futures]
    dur = np.empty((len(problem.work), futures), np.int32)
    fill(
        dur,
        (problem.work * np.exp(problem.mean)).astype(np.float32),
        problem.slot,
        problem.stage,
        problem.order,
        problem.pass_number,
        problem.running,
        own,
        np.exp(effect.astype(np.float32)),
        _passes(head[:, PASSES_SLOT], calibration),
        _remaining(problem, head, effect, seed, chunk),
    )
    del own  # the largest of all, and needed no more
    gates = _gates(problem, calibration, head, now, None if arrivals is None else arrivals[:, :futures])
    out = _absences(problem, calibration, closed, now, seed, chunk, futures, out_now)
    return Draws(np.ascontiguousarray(dur.T), np.ascontiguousarray(gates.T), out)


def order_lots(problem: Problem, seed: int, chunk: int, futures: int = CHUNK) -> tuple[Single, Single]:
    """What each order draws, a stream per order; the first M = `futures` of the chunk.

    [N, FIRST_STAGE_SLOT, M] standard normal numbers for its own effect, its redoing and its waits, and
    [N, slots, M] how much longer than usual its work at each slot takes, its own effect in it.
    """
    orders = len(problem.keys)
    head = np.empty((orders, FIRST_STAGE_SLOT, futures), np.float32)
    own = np.empty((orders, problem.slots, futures), np.float32)
    for n, key in enumerate(problem.keys):
        spreads = problem.spread, float(problem.order_spread[n])
        normal, factors = _one_orders_lots(key, seed, chunk, problem.slots, *spreads)
        head[n], own[n] = normal[:, :futures], factors[:, :futures]
    return head, own


@lru_cache(maxsize=KEPT_STREAMS)
def _one_orders_lots(
    key: int, seed: int, chunk: int, slots: int, spread: float, order_spread: float
) -> tuple[Single, Single]:
    """One order's share of `order_lots`, the whole chunk; kept, because comparisons and probes ask for it again."""
    normal = _normals(key, seed, chunk, slots)
    factors = np.float32(spread) * normal
    factors += np.float32(order_spread) * normal[ORDER_SLOT]
    return normal[:FIRST_STAGE_SLOT].copy(), np.exp(factors, out=factors)


def _normals(key: int, seed: int, chunk: int, slots: int) -> Single:
    """[slots, CHUNK] standard normal numbers of one order."""
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


def _remaining(
    problem: Problem, head: Single, effect: Floats, seed: int, chunk: int
) -> npt.NDArray[np.int32]:
    """[R, M] minutes left of begun work: the duration given that it exceeds what is done, less that."""
    futures = head.shape[2]
    left = np.zeros((max(len(problem.begun), 1), futures), np.int32)
    for column, begun in enumerate(problem.begun):
        k = begun.task
        n = problem.order[k]
        if problem.work[k] == 0:
            continue
        centre = problem.mean[k] + problem.order_spread[n] * head[n, ORDER_SLOT] + effect[problem.stage[k]]
        z = _normals(problem.keys[n], seed, chunk, problem.slots)[problem.slot[k], :futures].astype(
            np.float64
        )
        if begun.done > 0 and problem.spread > 0:
            least = (log(begun.done / problem.work[k]) - centre) / problem.spread
            z = np.maximum(least, -ndtri(np.maximum(ndtr(-z) * ndtr(-least), 1e-300)))
        whole = problem.work[k] * np.exp(centre + problem.spread * z)
        left[column] = np.maximum(1, np.round(np.maximum(whole - begun.done, LEAST_REMAINING * whole)))
    return left


def wait_lengths(
    kind: str, calibration: Calibration, z: npt.NDArray[np.floating], age: Floats | float = 0.0
) -> npt.NDArray[np.floating]:
    """Days a wait lasts in all, given that it has lasted `age` days already. `z` and `age` broadcast."""
    usual = calibration.wait(kind)
    centre = log(max(usual.median_days, 1e-3))
    curve = usual.curve or ((0.0, centre), (1.0, centre + usual.spread))
    points, logs = np.array(curve).T
    old = np.asarray(age, np.float64)
    if logs[-1] > logs[0] and bool((old > 0).any()):
        least = _straight(np.log(np.maximum(old, 1e-9)), logs, points)
        z = np.maximum(least, -ndtri(np.maximum(ndtr(-z.astype(np.float64)) * ndtr(-least), 1e-300)))
    return cast(npt.NDArray[np.floating], np.maximum(np.exp(_straight(z, points, logs)), age))


def _straight(x: npt.NDArray[np.floating], points: Floats, values: Floats) -> npt.NDArray[np.floating]:
    """The broken line through the points, its first and last pieces going on beyond them."""
    if len(points) == 2:
        slope = float((values[1] - values[0]) / (points[1] - points[0]))
        return x * slope + float(values[0] - slope * points[0])
    inside = np.interp(x, points, values)
    first = (values[1] - values[0]) / (points[1] - points[0])
    last = (values[-1] - values[-2]) / (points[-1] - points[-2])
    below, above = np.minimum(x - points[0], 0.0), np.maximum(x - points[-1], 0.0)
    return cast(npt.NDArray[np.floating], inside + first * below + last * above)


def _gates(
    problem: Problem, calibration: Calibration, head: Single, now: int, arrivals: Ints | None
) -> npt.NDArray[np.int64]:
    """[G, M] the minute each gate opens."""
    joins = np.full((max(len(problem.gates), 1), head.shape[2]), now)
    opens = np.zeros_like(joins)
    for g, gate in enumerate(problem.gates):
        opens[g] = gate.not_before
    expected_from = len(problem.keys) - (0 if arrivals is None else len(arrivals))
    if arrivals is not None:
        late = [
            (g, gate.order - expected_from)
            for g, gate in enumerate(problem.gates)
            if gate.order >= expected_from
        ]
        rows = [g for g, _ in late]
        joins[rows] = arrivals[[n for _, n in late]]
        opens[rows] = joins[rows]
    for kind, (fresh, running) in _waits_by_kind(problem).items():
        slot = FIRST_WAIT_SLOT + (WAIT_KINDS.index(kind) if kind in WAIT_KINDS else len(WAIT_KINDS))
        if fresh:
            z = head[[problem.gates[g].order for g in fresh], slot]
            days = wait_lengths(kind, calibration, z)
            opens[fresh] = np.maximum(
                opens[fresh], joins[fresh] + np.ceil(days * MINUTES_A_DAY).astype(np.int64)
            )
        if running:
            gates, since = [g for g, _ in running], np.array([minute for _, minute in running])[:, None]
            z = head[[problem.gates[g].order for g in gates], slot]
            days = wait_lengths(kind, calibration, z, np.maximum(0.0, (now - since) / MINUTES_A_DAY))
            opens[gates] = np.maximum(opens[gates], since + np.ceil(days * MINUTES_A_DAY).astype(np.int64))
    opens[joins >= NEVER] = NEVER
    return opens


def _waits_by_kind(problem: Problem) -> dict[str, tuple[list[int], list[tuple[int, int]]]]:
    """Kind: gates whose wait begins when the order joins, and (gate, minute since) of those that run already."""
    found: dict[str, tuple[list[int], list[tuple[int, int]]]] = {}
    for g, gate in enumerate(problem.gates):
        for wait in gate.waits:
            fresh, running = found.setdefault(wait.kind, ([], []))
            if wait.since is None:
                fresh.append(g)
            else:
                running.append((g, wait.since - problem.base))
    return found


def _absences(
    problem: Problem,
    calibration: Calibration,
    closed: npt.NDArray[np.uint8],
    now: int,
    seed: int,
    chunk: int,
    futures: int,
    out_now: frozenset[str],
) -> npt.NDArray[np.uint8]:
    """[M, P + K, days]: the closed days and drawn spells of absence and breakdown.

    None begins before tomorrow but those of `out_now`, which last as much longer as a spell lasts in the mean.
    """
    rows, days = closed.shape
    today = now // MINUTES_A_DAY
    out = np.repeat(closed[None], futures, axis=0)
    first = problem.base // MINUTES_A_DAY
    blocks = range(first // DATE_BLOCK, (first + days) // DATE_BLOCK + 1)
    for row in range(rows):
        person = row < len(problem.persons)
        share = calibration.absence_share if person else calibration.breakdown_share
        mean = calibration.absence_spell if person else calibration.breakdown_spell
        if problem.rows[row] in out_now:
            rng = stream(SPELLS, row, seed, chunk)
            length = rng.geometric(1 / (1 + mean), CHUNK)
            place = np.arange(CHUNK)
            mark_spells(out, row, place, length, today, 1, today)
        if share <= 0:
            continue
        rate = share / (1 - share) / mean
        for block in blocks:
            place, length = _spells(row, block, seed, chunk, rate, mean)
            mark_spells(out, row, place, length, block * DATE_BLOCK - first, DATE_BLOCK, today + 1)
    return out


@lru_cache(maxsize=KEPT_STREAMS)
def _spells(row: int, block: int, seed: int, chunk: int, rate: float, mean: float) -> tuple[Ints, Ints]:
    """(place = future * DATE_BLOCK + day, length in days) of the spells that begin in one block of days."""
    rng = stream(PEOPLE, (row << 32) + block, seed, chunk)
    count = rng.binomial(CHUNK * DATE_BLOCK, rate)
    place = rng.integers(CHUNK * DATE_BLOCK, size=count)
    return place, rng.geometric(min(1.0, 1 / mean), count)


def arrival_minutes(
    count: int, a_day: float, now: int, until: int, *, kind: int, seed: int, chunk: int
) -> Ints:
    """[count, CHUNK] arrival minutes of expected orders: a Poisson stream of `a_day` that ends at `until`."""
    rng = stream(ARRIVALS, kind, seed, chunk)
    gaps = rng.standard_exponential((count, CHUNK)) * (MINUTES_A_DAY / a_day)
    minutes = now + np.ceil(np.cumsum(gaps, axis=0)).astype(np.int64)
    return np.where(minutes > until, NEVER, minutes)
