"""The plan search on bare chains: operations on single machines, as in the published job-shop instances."""

import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from quoting.leadtime.engine import Ints, Layout, Minutes, simulate
from quoting.leadtime.search import search_turns

FIRST_HEAT, LAST_HEAT = 0.06, 0.005
BATCH = 400
SIDE_BY_SIDE = 2
NO_HOURS = np.empty((0, 1, 3), np.int64)  # machines that never rest need no timetable


@dataclass(frozen=True, slots=True)
class ChainPlan:
    """The shortest plan found: its makespan and, per chain, the minute each operation begins."""

    makespan: int
    begin: tuple[tuple[int, ...], ...]
    tried: int


def plan_chains(
    chains: Sequence[Sequence[tuple[int, int]]],
    *,
    seconds: float = 10.0,
    decodes: int | None = None,
    seed: int = 0,
    clock: Callable[[], float] = time.monotonic,
) -> ChainPlan:
    """A short plan of chains of (machine, minutes), each machine doing one operation at a time.

    Two annealings run side by side for `seconds`, or for `decodes` tries each, which makes it repeatable.
    """
    with ThreadPoolExecutor(SIDE_BY_SIDE) as pool:
        runs = [
            pool.submit(_anneal, chains, seconds, decodes, seed * SIDE_BY_SIDE + i, clock) for i in range(2)
        ]
        plans = [run.result() for run in runs]
    return min(plans, key=lambda p: p.makespan)


def layout_of(chains: Sequence[Sequence[tuple[int, int]]]) -> tuple[Layout, Minutes]:
    """The chains as the engine sees them, most work remaining first, and their minutes [T]."""
    flat = [(n, machine, minutes) for n, chain in enumerate(chains) for machine, minutes in chain]
    remaining = [sum(m for _, m in chain[j:]) for chain in chains for j in range(len(chain))]
    machines = 1 + max(machine for _, machine, _ in flat)
    ints, tasks = np.int64, len(flat)
    layout = Layout(
        shifts=np.zeros((0, 7, 1, 2), ints),
        shift_count=np.zeros((0, 7), ints),
        round_the_clock=1,
        queue_people=np.zeros(machines, ints),
        queue_machines=np.array([1 << m for m in range(machines)], ints),
        queue_rack=np.full(machines, -1, ints),
        capacity=np.zeros(1, ints),
        first=np.cumsum([0, *(len(chain) for chain in chains)]).astype(ints),
        queue=np.array([machine for _, machine, _ in flat], ints),
        wait=np.zeros(tasks, ints),
        gate=np.full(tasks, -1, ints),
        rank=max(remaining) - np.array(remaining, ints),
        turn=np.full(tasks, -1, ints),
        strict=0,
        enters=np.ones(len(chains), ints),
        counted=np.ones(len(chains), ints),
        begun=np.empty(0, ints),
    )
    return layout, np.array([minutes for *_, minutes in flat], np.int32)


def replay(layout: Layout, dur: Minutes) -> tuple[Ints, Ints]:
    """(completion of each chain, begin of each operation)."""
    done = np.empty(len(layout.first) - 1, np.int64)
    begin, end, who = (np.empty(len(dur), np.int64) for _ in range(3))
    simulate(layout, NO_HOURS, dur, np.zeros(1, np.int64), _open(layout), 0, done, begin, end, who)
    return done, begin


def _open(layout: Layout) -> npt.NDArray[np.uint8]:
    return np.zeros((len(layout.queue_machines), 1), np.uint8)


def _anneal(
    chains: Sequence[Sequence[tuple[int, int]]],
    seconds: float,
    decodes: int | None,
    seed: int,
    clock: Callable[[], float],
) -> ChainPlan:
    layout, dur = layout_of(chains)
    done, begin = replay(layout, dur)
    turn = np.empty(len(dur), np.int64)
    for machine in range(len(layout.queue_machines)):
        mine = np.flatnonzero(layout.queue == machine)
        turn[mine[np.argsort(begin[mine], kind="stable")]] = np.arange(len(mine))
    strict = layout._replace(strict=1, rank=turn.copy(), turn=turn.copy())
    best, cost = turn.copy(), float(done.max())
    best_cost, tried, share, started = cost, 0, 0.0, clock()
    while share < 1.0:
        heat = FIRST_HEAT * (LAST_HEAT / FIRST_HEAT) ** share
        gates, out = np.zeros(1, np.int64), _open(layout)
        cost, best_cost = search_turns(
            strict,
            NO_HOURS,
            dur,
            gates,
            out,
            0,
            turn,
            cost,
            best,
            best_cost,
            heat,
            BATCH,
            (seed << 20) + tried,
        )
        tried += BATCH
        share = tried / decodes if decodes is not None else (clock() - started) / seconds
    done, begin = replay(strict._replace(rank=best, turn=best), dur)
    cuts = np.split(begin, layout.first[1:-1])
    return ChainPlan(int(done.max()), tuple(tuple(int(b) for b in cut) for cut in cuts), tried)
