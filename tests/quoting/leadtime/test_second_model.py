"""The engine and a model of the same shop in a general simulation library end every order on the same minute."""

from datetime import timedelta

import numpy as np
import pytest

from quoting.leadtime.calibration import Calibration
from quoting.leadtime.engine import run
from quoting.leadtime.forecast import drawn_futures
from tests.kit.simpy_shop import Piece, Step, Workshop
from tests.kit.small_shop import NOW, queue, shop

NEVER = 1 << 40
CALIBRATION = Calibration(arrivals_a_day=0.4, absence_share=0.05, breakdown_share=0.0)


def second_model(workshop, problem, draws, m, now, orders):
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


@pytest.mark.parametrize(("count", "futures"), [(12, 20), (40, 4)])
def test_every_order_of_every_future_ends_on_the_same_minute(count, futures):
    workshop, now = shop(), NOW + 3 * 1440
    problem, draws = drawn_futures(
        workshop, queue(count), CALIBRATION, now_minute=now, futures=futures, seed=5, days=500, reach_days=30
    )
    lay = problem.layout._replace(counted=problem.layout.enters)
    done, _ = run(lay, draws.dur, draws.gates, draws.out, now - problem.base)
    for m in range(futures):
        expected, numbers = second_model(workshop, problem, draws, m, now, queue(count))
        assert (done[m, numbers] + problem.base).tolist() == expected
