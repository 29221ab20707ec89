"""Working hours, compiled: when work that starts now is finished, and when a person's next shift begins."""
# mypy: disable-error-code="untyped-decorator,misc,no-untyped-def,no-untyped-call,assignment"
# The kernels' types are inferred by the compiler, not written.

import numpy as np
from numba import njit

DAY = 1440
NEVER = 1 << 40


@njit(cache=True, nogil=True)
def timetable(shifts, shift_count, days):
    """Every person's intervals of work over so many days, [P, I, 3]: begin, end, day; each row closed off by NEVER.

    `shifts` [P, 7, i, 2] minutes of the day, `shift_count` [P, 7]; day 0 is a Monday. Days out are not left out here.
    """
    persons = shifts.shape[0]
    table = np.full((persons, days * shifts.shape[2] + 1, 3), NEVER)
    for p in range(persons):
        row = 0
        for day in range(days):
            for i in range(shift_count[p, day % 7]):
                table[p, row, 0] = day * DAY + shifts[p, day % 7, i, 0]
                table[p, row, 1] = day * DAY + shifts[p, day % 7, i, 1]
                table[p, row, 2] = day
                row += 1
    return table


@njit(cache=True, nogil=True)
def finish(table, out, person, machine, place, start, work):
    """F_p(start, work) on the days not marked in `out` [P + K, days]; -1 beyond the last day.

    `place` is the person's first interval that ends after `start`.
    """
    machine_row = table.shape[0] + machine
    left = work
    while True:
        opens, closes = table[person, place, 0], table[person, place, 1]
        if closes >= NEVER:
            return np.int64(-1)
        day = table[person, place, 2]
        if out[person, day] == 0 and (machine < 0 or out[machine_row, day] == 0):
            opens = max(start, opens)
            if left <= closes - opens:
                return opens + left
            left -= closes - opens
        place += 1


@njit(cache=True, nogil=True)
def next_place(table, out, person, place, minute):
    """The person's first interval, from `place` on, that ends after the minute and lies on no day out."""
    while True:
        closes = table[person, place, 1]
        if closes >= NEVER or (closes > minute and out[person, table[person, place, 2]] == 0):
            return place
        place += 1
