"""The queue engine: event-driven priority dispatch of task chains over persons, machines and racks, compiled.

Non-delay: at every moment the free person takes the most urgent thing that is ready and for which machine and
rack are free. Whole minutes throughout; nothing here draws a random number.
"""
# mypy: disable-error-code="untyped-decorator,misc,no-untyped-def,no-untyped-call,assignment"
# The kernels' types are inferred by the compiler, not written.

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numba import njit, prange

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

DAY = 1440
NEVER = 1 << 40
FINISHED, DRIED, READY = 0, 1, 2
OK, BEYOND_HORIZON = 0, 1


class Layout(NamedTuple):
    """Shop and orders as flat arrays. P persons (fewest skills first), K machine units, Q queues, N orders, T tasks.

    `shifts` [P, 7, I, 2] minutes of the day, `shift_count` [P, 7]; `round_the_clock` 1 switches calendars off.
    `queue_people` [Q] bit mask of those who can do it (0: needs nobody), `queue_machines` [Q] bit mask of the
    units that will do (0: none needed), `queue_rack` [Q] index or -1, `capacity` [racks]. Order n owns tasks
    first[n]:first[n+1]; per task: `queue`, `wait` minutes after it, `gate` column of the gate times or -1,
    `rank` (lower goes first). `strict` 1: a task with `turn` >= 0 waits until all earlier turns of its queue
    have begun, though the machine stands idle.
    `enters` [N] 0 keeps the order out; `counted` [N] 1: the run ends when all counted orders are done.
    `begun` lists the orders whose first task is running, in the order they take their places.
    """

    shifts: Ints
    shift_count: Ints
    round_the_clock: int
    queue_people: Ints
    queue_machines: Ints
    queue_rack: Ints
    capacity: Ints
    first: Ints
    queue: Ints
    wait: Ints
    gate: Ints
    rank: Ints
    turn: Ints
    strict: int
    enters: Ints
    counted: Ints
    begun: Ints


@njit(cache=True, nogil=True)
def _push(heap, size, key):
    i = size
    while i > 0:
        parent = (i - 1) >> 1
        if heap[parent] <= key:
            break
        heap[i] = heap[parent]
        i = parent
    heap[i] = key
    return size + 1


@njit(cache=True, nogil=True)
def _pop(heap, size):
    top = heap[0]
    size -= 1
    key = heap[size]
    i = 0
    while True:
        child = 2 * i + 1
        if child >= size:
            break
        if child + 1 < size and heap[child + 1] < heap[child]:
            child += 1
        if heap[child] >= key:
            break
        heap[i] = heap[child]
        i = child
    heap[i] = key
    return top


@njit(cache=True, nogil=True)
def _lowest(mask):
    """The index of the lowest bit set in a mask that is not 0."""
    index = 0
    while not (mask >> index) & 1:
        index += 1
    return index


@njit(cache=True, nogil=True)
def finish(lay, out, person, machine, start, work):
    """F_p(start, work) on the days not marked in `out` [P + K, days]; -1 beyond the last day."""
    if lay.round_the_clock == 1:
        return start + work
    persons, days = lay.shifts.shape[0], out.shape[1]
    day = start // DAY
    left = work
    while day < days:
        if out[person, day] == 0 and (machine < 0 or out[persons + machine, day] == 0):
            weekday = day % 7
            for i in range(lay.shift_count[person, weekday]):
                closes = day * DAY + lay.shifts[person, weekday, i, 1]
                if closes <= start:
                    continue
                opens = max(start, day * DAY + lay.shifts[person, weekday, i, 0])
                if left <= closes - opens:
                    return opens + left
                left -= closes - opens
        day += 1
    return np.int64(-1)


@njit(cache=True, nogil=True)
def _hours(lay, out, person, t):
    """(end of the shift the person is in at t, or t; start of the next shift after t, or NEVER)."""
    day = t // DAY
    end = t
    while day < out.shape[1]:
        if out[person, day] == 0:
            weekday = day % 7
            for i in range(lay.shift_count[person, weekday]):
                opens = day * DAY + lay.shifts[person, weekday, i, 0]
                if opens > t:
                    return end, opens
                closes = day * DAY + lay.shifts[person, weekday, i, 1]
                if closes > t:
                    end = closes
        day += 1
    return end, NEVER


@njit(cache=True, nogil=True)
def simulate(lay, dur, gates, out, now, done, begin, end, who):
    """One future. `dur` [T] minutes, `gates` [G] earliest minutes (NEVER: never), `out` [P + K, days].

    Writes `done` [N] (-1: not finished) and, unless they are empty, per task `begin`, `end`, `who` (-1: not
    done or nobody). Returns OK or BEYOND_HORIZON.
    """
    orders, queues, persons = lay.first.shape[0] - 1, lay.queue_people.shape[0], lay.shifts.shape[0]
    at = np.empty(orders, np.int64)
    events = np.empty(orders + 2, np.int64)
    event_count = 0
    waiting = np.empty((queues, orders), np.int64)
    waiting_count = np.zeros(queues, np.int64)
    waiting_total = 0
    rack_free = lay.capacity.copy()
    traced = begin.shape[0] > 0
    machines, days = out.shape[0] - persons, out.shape[1]
    holder = np.full(orders, np.int64(-1))
    unit = np.full(orders, np.int64(-1))
    begun_turns = np.zeros(queues, np.int64)
    machine_free = (np.int64(1) << machines) - 1
    machine_open = machine_free
    open_day = np.int64(-1)
    person_free = (np.int64(1) << persons) - 1
    shift_end = np.zeros(persons, np.int64)
    shift_next = np.full(persons, np.int64(-1))
    todo = 0
    for n in range(orders):
        done[n] = -1
        at[n] = lay.first[n] - 1
        if lay.counted[n] == 1 and lay.enters[n] == 1:
            todo += 1
    for k in range(begin.shape[0]):
        begin[k] = -1
        end[k] = -1
        who[k] = -1

    t = now
    next_shift = NEVER
    # `moved` lists the orders that go on to their next task at this moment
    moved = np.empty(orders, np.int64)
    moved_count = 0
    for n in range(orders):
        if lay.enters[n] == 1:
            moved[moved_count] = n
            moved_count += 1
    opening = True
    while True:
        for j in range(moved_count):
            n = moved[j]
            k = at[n] + 1
            last = lay.first[n + 1]
            while k < last and dur[k] == 0 and (lay.wait[k] == 0 or lay.queue_people[lay.queue[k]] != 0):
                k += 1
            at[n] = k
            if k == last:
                done[n] = t
                if lay.counted[n] == 1:
                    todo -= 1
                continue
            ready = t
            if lay.gate[k] >= 0:
                ready = max(t, gates[lay.gate[k]])
            if ready >= NEVER:
                continue
            if ready > t:
                event_count = _push(events, event_count, (ready << 22) | (n << 2) | READY)
                continue
            q = lay.queue[k]
            waiting_count[q] = _push(waiting[q], waiting_count[q], (lay.rank[k] << 20) | n)
            waiting_total += 1
        moved_count = 0
        if todo == 0:
            return OK

        if waiting_total > 0:
            present = person_free
            if lay.round_the_clock == 0:
                present = np.int64(0)
                for p in range(persons):
                    if t >= shift_next[p]:
                        shift_end[p], shift_next[p] = _hours(lay, out, p, t)
                    if t < shift_end[p]:
                        present |= np.int64(1) << p
                if open_day != t // DAY:
                    open_day = t // DAY
                    machine_open = np.int64(0)
                    for m in range(machines):
                        if out[persons + m, open_day] == 0:
                            machine_open |= np.int64(1) << m
            opened = 0
            while True:
                best = -1
                best_key = np.int64(0)
                best_person = -1
                forced = False
                if opening and opened < lay.begun.shape[0]:
                    # begun work keeps its place: it goes before everything else, on or off shift
                    n = lay.begun[opened]
                    opened += 1
                    k = at[n]
                    if k >= lay.first[n + 1]:
                        continue
                    q = lay.queue[k]
                    mask = lay.queue_people[q]
                    units = lay.queue_machines[q]
                    person = -1
                    if mask & person_free:
                        person = _lowest(mask & person_free)
                    here = -1
                    for i in range(waiting_count[q]):
                        if (waiting[q, i] & 0xFFFFF) == n:
                            here = i
                    if here < 0 or (mask != 0 and person < 0) or (units != 0 and units & machine_free == 0):
                        continue
                    best, best_person, best_key, forced = q, person, waiting[q, here], True
                    # take it out of the middle of its queue
                    size = waiting_count[q] - 1
                    moved_key = waiting[q, size]
                    rest = waiting[q, :size].copy()
                    if here < size:
                        rest[here] = moved_key
                    count = 0
                    for i in range(size):
                        count = _push(waiting[q], count, rest[i])
                    waiting_count[q] = size
                else:
                    able = present & person_free
                    machine_able = machine_free & machine_open
                    for q in range(queues):
                        if waiting_count[q] == 0:
                            continue
                        mask = lay.queue_people[q]
                        if mask != 0 and mask & able == 0:
                            continue
                        key = waiting[q, 0]
                        if best >= 0 and key >= best_key:
                            continue
                        units = lay.queue_machines[q]
                        if units != 0 and units & machine_able == 0:
                            continue
                        r = lay.queue_rack[q]
                        if r >= 0 and rack_free[r] <= 0:
                            continue
                        if lay.strict == 1:
                            turn = lay.turn[at[key & 0xFFFFF]]
                            if turn >= 0 and turn != begun_turns[q]:
                                continue
                        best, best_key = q, key
                        best_person = _lowest(mask & able) if mask != 0 else -1
                    if best < 0:
                        break
                if not forced:
                    _pop(waiting[best], waiting_count[best])
                    waiting_count[best] -= 1
                waiting_total -= 1
                n = best_key & 0xFFFFF
                k = at[n]
                begun_turns[best] += 1
                m = np.int64(-1)
                units = lay.queue_machines[best]
                if units != 0:
                    # begun work may stand on a machine that is out of use today
                    usable = units & machine_free & machine_open
                    m = np.int64(_lowest(usable if usable != 0 else units & machine_free))
                unit[n] = m
                r = lay.queue_rack[best]
                if best_person >= 0:
                    stop = finish(lay, out, best_person, m, t, np.int64(dur[k]))
                    if stop < 0:
                        return BEYOND_HORIZON
                    person_free &= ~(np.int64(1) << best_person)
                else:
                    stop = t + dur[k]
                if m >= 0:
                    machine_free &= ~(np.int64(1) << m)
                if r >= 0:
                    rack_free[r] -= 1
                holder[n] = best_person
                if traced:
                    begin[k], end[k], who[k] = t, stop, best_person
                event_count = _push(events, event_count, (stop << 22) | (n << 2) | FINISHED)
                if waiting_total == 0:
                    break
            next_shift = NEVER
            if waiting_total > 0 and lay.round_the_clock == 0:
                for p in range(persons):
                    if (person_free >> p) & 1 and shift_next[p] < next_shift:
                        next_shift = shift_next[p]
        else:
            next_shift = NEVER
        opening = False

        if event_count == 0 and next_shift >= NEVER:
            return BEYOND_HORIZON if todo > 0 else OK
        t = next_shift
        if event_count > 0 and (events[0] >> 22) < t:
            t = events[0] >> 22
        if lay.round_the_clock == 0 and t // DAY >= days:
            return BEYOND_HORIZON
        while event_count > 0 and (events[0] >> 22) == t:
            code = _pop(events, event_count) & 0x3FFFFF
            event_count -= 1
            kind = code & 3
            n = code >> 2
            k = at[n]
            q = lay.queue[k]
            if kind == READY:
                waiting_count[q] = _push(waiting[q], waiting_count[q], (lay.rank[k] << 20) | n)
                waiting_total += 1
                continue
            if kind == FINISHED:
                if holder[n] >= 0:
                    person_free |= np.int64(1) << holder[n]
                if unit[n] >= 0:
                    machine_free |= np.int64(1) << unit[n]
                if lay.wait[k] > 0:
                    event_count = _push(events, event_count, ((t + lay.wait[k]) << 22) | (n << 2) | DRIED)
                    continue
            if lay.queue_rack[q] >= 0:
                rack_free[lay.queue_rack[q]] += 1
            moved[moved_count] = n
            moved_count += 1


@njit(cache=True, nogil=True)
def _one(lay, dur, gates, out, now, done):
    nothing = np.empty(0, np.int64)
    return simulate(lay, dur, gates, out, now, done, nothing, nothing, nothing)


@njit(cache=True, parallel=True)
def run(lay, dur, gates, out, now):
    """All futures. `dur` [M, T] int32, `gates` [M, G] int64, `out` [M or 1, P + K, days] uint8.

    Returns (done [M, N] minutes, status [M]).
    """
    futures = dur.shape[0]
    done = np.empty((futures, lay.first.shape[0] - 1), np.int64)
    status = np.zeros(futures, np.int64)
    for j in prange(futures):
        m = np.int64(j)
        status[m] = _one(lay, dur[m], gates[m], out[m % out.shape[0]], now, done[m])
    return done, status


@njit(cache=True, nogil=True)
def run_serial(lay, dur, gates, out, now):
    """The same on one thread, for callers that run in several threads or need few futures."""
    futures = dur.shape[0]
    done = np.empty((futures, lay.first.shape[0] - 1), np.int64)
    status = np.zeros(futures, np.int64)
    for m in range(futures):
        status[m] = _one(lay, dur[m], gates[m], out[m % out.shape[0]], now, done[m])
    return done, status


@njit(cache=True, parallel=True)
def draw(
    dur,
    work,
    mean,
    spread,
    slot,
    stage,
    order,
    order_spread,
    pass_number,
    effect,
    passes,
    z,
    remaining,
    running,
):
    """Fill `dur` [M, T] with work * exp(mean + spread z + order effect + stage effect), at least a minute.

    `z` [N, slots, M] standard normal, slot 0 the order's own effect; `effect` [stages, M] is shared by all
    orders of a future; tasks with `pass_number` k > 0 take place only where `passes` [N, M] > k; `running` [T]
    is a column of `remaining` [M, R] or -1.
    """
    futures, tasks = dur.shape
    for i in prange(tasks):
        k = np.int64(i)
        n = order[k]
        for m in range(futures):
            if running[k] >= 0:
                dur[m, k] = remaining[m, running[k]]
            elif work[k] == 0 or passes[n, m] <= pass_number[k]:
                dur[m, k] = 0
            else:
                y = (
                    mean[k]
                    + spread[k] * z[n, slot[k], m]
                    + order_spread[n] * z[n, 0, m]
                    + effect[stage[k], m]
                )
                dur[m, k] = max(1, round(work[k] * np.exp(y)))


@njit(cache=True, nogil=True)
def mark_spells(out, row, place, length, first_day, block, earliest):
    """Mark in `out` [M, rows, days] the spells of one row; `place` = future * block + day; none before `earliest`."""
    for i in range(place.shape[0]):
        m = place[i] // block
        begin = first_day + place[i] % block
        if m < out.shape[0] and begin >= earliest:
            for day in range(begin, min(begin + length[i], out.shape[2])):
                out[m, row, day] = 1
