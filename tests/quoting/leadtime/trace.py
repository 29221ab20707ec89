"""One drawn future of a queue with all that the engine did in it, task by task."""

import numpy as np

from quoting.leadtime.engine import OK, simulate
from quoting.leadtime.forecast import drawn_futures
from quoting.leadtime.hours import timetable
from tests.kit.small_shop import NOW


class Trace:
    """Begin, end and hands of every task of one future."""

    def __init__(self, workshop, orders, calibration, seed):
        self.shop = workshop
        self.problem, draws = drawn_futures(
            workshop, orders, calibration, now_minute=NOW, futures=1, seed=seed, days=700, reach_days=20
        )
        lay = self.problem.layout
        self.dur, self.gates, self.out = draws.dur[0], draws.gates[0], draws.out[0]
        tasks = len(self.dur)
        self.done = np.empty(len(self.problem.keys), np.int64)
        self.begin, self.end, self.who = (np.empty(tasks, np.int64) for _ in range(3))
        traced = self.begin, self.end, self.who
        table = timetable(lay.shifts, lay.shift_count, self.out.shape[1])
        assert simulate(lay, table, self.dur, self.gates, self.out, NOW, self.done, *traced) == OK
        self.tasks = np.flatnonzero(self.begin >= 0)

    def held(self, k):
        return self.begin[k], self.end[k] + self.problem.layout.wait[k]

    def gate(self, k):
        lay = self.problem.layout
        return int(self.gates[lay.gate[k]]) if lay.gate[k] >= 0 else 0
