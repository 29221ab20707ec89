"""Plays one drawn future of the engine through the model in the general simulation library."""

from collections.abc import Sequence
from datetime import timedelta

import numpy as np

from quoting.leadtime.futures import Draws
from quoting.leadtime.hours import NEVER
from quoting.leadtime.layout import Problem
from quoting.leadtime.shop import Shop
from tests.kit.simpy_shop import Piece, Step, Workshop


def second_model(
    workshop: Shop, problem: Problem, draws: Draws, m: int, now: int
) -> tuple[Sequence[int], Sequence[int]]:
    """(completion minutes, which orders) of future m by the other model; orders that never arrive are left out."""
    lay, base = problem.layout, problem.base
    pieces, numbers = [], []
    for n in range(len(lay.first) - 1):
        steps = []
        for k in range(lay.first[n], lay.first[n + 1]):
            opens = int(draws.gates[m, lay.gate[k]]) if lay.gate[k] >= 0 else 0
            minutes, wait = int(draws.dur[m, k]), int(lay.wait[k])
            if minutes or (problem.work[k] == 0 and wait):
                steps.append(Step(workshop.stages[problem.stage[k]], minutes, wait, opens + base))
        if not any(s.opens >= NEVER for s in steps):
            pieces.append(Piece(int(lay.rank[lay.first[n]]), steps))
            numbers.append(n)
    absent = {
        key: frozenset(
            workshop.epoch + timedelta(days=base // 1440 + int(d)) for d in np.flatnonzero(draws.out[m, i])
        )
        for i, key in enumerate(problem.persons)
    }
    Workshop(workshop, pieces, now, absent).run()
    return [p.done for p in pieces], numbers
