"""Fills the drawn futures, compiled: minutes of every task, and the days people and machines are out."""
# mypy: disable-error-code="untyped-decorator,misc,no-untyped-def,no-untyped-call,assignment"
# The kernels' types are inferred by the compiler, not written.

import numpy as np
from numba import njit


@njit(cache=True, nogil=True)
def fill(dur, usual, slot, stage, order, pass_number, running, own, shared, passes, remaining):
    """Fill `dur` [T, M] with usual * own factor * shared factor, at least a minute.

    `usual` [T] minutes, 0 where nothing is done; `own` [N, slots, M] the factor of an order at a slot, `shared`
    [stages, M] that of all orders of a future; tasks with `pass_number` k > 0 take place only where `passes` [N, M]
    > k; `running` [T] is a row of `remaining` [R, M] or -1.
    """
    tasks, futures = dur.shape
    for k in range(tasks):
        row, left = dur[k], remaining[max(running[k], 0)]
        mine, all_share, visits = own[order[k], slot[k]], shared[stage[k]], passes[order[k]]
        for m in range(futures):
            if running[k] >= 0:
                row[m] = left[m]
            elif usual[k] == 0 or visits[m] <= pass_number[k]:
                row[m] = 0
            else:
                row[m] = max(np.int32(usual[k] * mine[m] * all_share[m] + np.float32(0.5)), np.int32(1))


@njit(cache=True, nogil=True)
def mark_spells(out, row, place, length, first_day, block, earliest):
    """Mark in `out` [M, rows, days] the spells of one row; `place` = future * block + day; none before `earliest`."""
    for i in range(place.shape[0]):
        m = place[i] // block
        begin = first_day + place[i] % block
        if m < out.shape[0] and begin >= earliest:
            for day in range(begin, min(begin + length[i], out.shape[2])):
                out[m, row, day] = 1
