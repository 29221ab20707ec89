"""The queue engine: event-driven priority dispatch of task chains over persons, machines and racks, compiled.

Non-delay: at every moment the free person takes the most urgent thing that is ready and for which machine and
rack are free. Whole minutes throughout; nothing here draws a random number.
"""
# mypy: disable-error-code="untyped-decorator,misc,no-untyped-def,no-untyped-call,assignment"
# The kernels' types are inferred by the compiler, not written.

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numba import njit

from quoting.leadtime.heap import pop, push, remove
from quoting.leadtime.hours import DAY, NEVER, finish, next_place, timetable

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Minutes = npt.NDArray[np.int32]
"""How long tasks take; one width for all callers, so that the engine is compiled once."""

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
def _lowest(mask):
    """The index of the lowest bit set in a mask that is not 0."""
    index = 0
    while not (mask >> index) & 1:
        index += 1
    return index


@njit(cache=True, nogil=True)
def _open_machines(out, persons, day):
    """Bit mask of the machine units in use on the day."""
    mask = np.int64(0)
    for m in range(out.shape[0] - persons):
        if out[persons + m, day] == 0:
            mask |= np.int64(1) << m
    return mask


@njit(cache=True, nogil=True, inline="always")
def _most_urgent(
    people,
    machines,
    rack,
    heads,
    active,
    active_count,
    hands,
    open_machines,
    rack_free,
    strict,
    turn,
    at,
    turns,
):
    """Place in `active` of the queue whose head goes first and has person, machine and rack free; -1: none."""
    best, best_key = -1, np.int64(0)
    for i in range(active_count):
        q = active[i]
        key = heads[q]
        if best >= 0 and key >= best_key:
            continue
        if people[q] != 0 and people[q] & hands == 0:
            continue
        if machines[q] != 0 and machines[q] & open_machines == 0:
            continue
        if rack[q] >= 0 and rack_free[rack[q]] <= 0:
            continue
        if strict == 1:
            mine = turn[at[key & 0xFFFFF]]
            if mine >= 0 and mine != turns[q]:
                continue
        best, best_key = i, key
    return best


@njit(cache=True, nogil=True, inline="always")
def _begun_place(lay, waiting, size, room, n, k, person_free, machine_free):
    """Where in its queue the begun task k of order n stands, if its person and machine are free; else -1."""
    q = lay.queue[k]
    people, units = lay.queue_people[q], lay.queue_machines[q]
    if (people != 0 and people & person_free == 0) or (units != 0 and units & machine_free == 0):
        return -1
    for i in range(size):
        if (waiting[q * room + i] & 0xFFFFF) == n:
            return i
    return -1


@njit(cache=True, nogil=True)
def simulate(lay, table, dur, gates, out, now, done, begin, end, who):
    """One future. `dur` [T] int32 minutes, `gates` [G] earliest minutes (NEVER: never), `out` [P + K, days].

    `table` is the hours' timetable over the days of `out`. Writes `done` [N] (-1: not finished) and, unless they
    are empty, per task `begin`, `end`, `who` (-1: not done or nobody). Returns OK or BEYOND_HORIZON.
    """
    orders, queues, persons = lay.first.shape[0] - 1, lay.queue_people.shape[0], lay.shifts.shape[0]
    room, horizon, calendar = orders, out.shape[1] * DAY, lay.round_the_clock == 0
    at = np.empty(orders, np.int64)
    events, event_count = np.empty(orders + 2, np.int64), 0
    # what waits: a heap for each queue, its head apart, and the list of queues in which somebody waits
    waiting, sizes = np.empty(queues * room, np.int64), np.zeros(queues, np.int64)
    heads, active, active_count = np.empty(queues, np.int64), np.empty(queues, np.int64), 0
    alone = 0  # of those, the queues that need nobody
    rack_free = lay.capacity.copy()
    traced = begin.shape[0] > 0
    holder, unit = np.empty(orders, np.int64), np.empty(orders, np.int64)
    begun_turns = np.zeros(queues, np.int64)
    machine_free = (np.int64(1) << (out.shape[0] - persons)) - 1
    machine_open, midnight = machine_free, np.int64(-1)
    person_free = (np.int64(1) << persons) - 1
    # each person's interval of work now or next, and when the one after it begins
    hour, opens, again = np.zeros(persons, np.int64), np.zeros(persons, np.int64), np.zeros(persons, np.int64)
    closes = np.full(persons, np.int64(-1))
    # the orders that go on to their next task at this moment
    moved, moved_count = np.empty(orders, np.int64), 0
    todo = 0
    for n in range(orders):
        done[n] = -1
        at[n] = lay.first[n] - 1
        if lay.enters[n] == 1:
            moved[moved_count] = n
            moved_count += 1
            todo += lay.counted[n]
    for k in range(begin.shape[0]):
        begin[k] = -1
        end[k] = -1
        who[k] = -1
    t, opening = now, True
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
                todo -= lay.counted[n]
                continue
            ready = t
            if lay.gate[k] >= 0:
                ready = max(t, gates[lay.gate[k]])
            if ready >= NEVER:
                continue
            if ready > t:
                event_count = push(events, 0, event_count, (ready << 22) | (n << 2) | READY)
                continue
            q = lay.queue[k]
            if sizes[q] == 0:
                active[active_count] = q
                active_count += 1
                alone += lay.queue_people[q] == 0
            sizes[q] = push(waiting, q * room, sizes[q], (lay.rank[k] << 20) | n)
            heads[q] = waiting[q * room]
        moved_count = 0
        if todo == 0:
            return OK

        next_shift = NEVER
        if active_count > 0:
            present = person_free
            if calendar:
                present = np.int64(0)
                for p in range(persons):
                    if t >= closes[p]:
                        hour[p] = next_place(table, out, p, hour[p], t)
                        opens[p], closes[p] = table[p, hour[p], 0], table[p, hour[p], 1]
                        again[p] = table[p, next_place(table, out, p, hour[p], closes[p]), 0]
                    if t >= opens[p]:
                        present |= np.int64(1) << p
                if t >= midnight:
                    midnight = (t // DAY + 1) * DAY
                    machine_open = _open_machines(out, persons, t // DAY)
            opened = 0
            while active_count > 0:
                if opening and opened < lay.begun.shape[0]:
                    # begun work keeps its place: it goes before everything else, on or off shift
                    n = lay.begun[opened]
                    opened += 1
                    k = at[n]
                    if k >= lay.first[n + 1]:
                        continue
                    q = lay.queue[k]
                    here = _begun_place(lay, waiting, sizes[q], room, n, k, person_free, machine_free)
                    if here < 0:
                        continue
                    hands = person_free
                    remove(waiting, q * room, sizes[q], here)
                    place = 0
                    while active[place] != q:
                        place += 1
                else:
                    hands = present & person_free
                    if hands == 0 and alone == 0:
                        break
                    place = _most_urgent(
                        lay.queue_people,
                        lay.queue_machines,
                        lay.queue_rack,
                        heads,
                        active,
                        active_count,
                        hands,
                        machine_free & machine_open,
                        rack_free,
                        lay.strict,
                        lay.turn,
                        at,
                        begun_turns,
                    )
                    if place < 0:
                        break
                    q = active[place]
                    n = pop(waiting, q * room, sizes[q]) & 0xFFFFF
                    k = at[n]
                sizes[q] -= 1
                heads[q] = waiting[q * room]
                if sizes[q] == 0:
                    alone -= lay.queue_people[q] == 0
                    active_count -= 1
                    active[place] = active[active_count]
                begun_turns[q] += 1
                m, units = np.int64(-1), lay.queue_machines[q]
                if units != 0:
                    # begun work may stand on a machine that is out of use today
                    usable = units & machine_free & machine_open
                    m = np.int64(_lowest(usable if usable != 0 else units & machine_free))
                    machine_free &= ~(np.int64(1) << m)
                if lay.queue_rack[q] >= 0:
                    rack_free[lay.queue_rack[q]] -= 1
                person, people = np.int64(-1), lay.queue_people[q]
                stop = t + dur[k]
                if people != 0:
                    person = np.int64(_lowest(people & hands))
                    if calendar:
                        stop = finish(table, out, person, m, hour[person], t, np.int64(dur[k]))
                        if stop < 0:
                            return BEYOND_HORIZON
                    person_free &= ~(np.int64(1) << person)
                unit[n], holder[n] = m, person
                if traced:
                    begin[k], end[k], who[k] = t, stop, person
                event_count = push(events, 0, event_count, (stop << 22) | (n << 2) | FINISHED)
            if active_count > 0 and calendar:
                for p in range(persons):
                    if (person_free >> p) & 1:
                        next_shift = min(next_shift, opens[p] if opens[p] > t else again[p])
        opening = False

        if event_count == 0 and next_shift >= NEVER:
            return BEYOND_HORIZON if todo > 0 else OK
        t = next_shift
        if event_count > 0:
            t = min(t, events[0] >> 22)
        if calendar and t >= horizon:
            return BEYOND_HORIZON
        while event_count > 0 and (events[0] >> 22) == t:
            code = pop(events, 0, event_count) & 0x3FFFFF
            event_count -= 1
            n = code >> 2
            k = at[n]
            q = lay.queue[k]
            if code & 3 == READY:
                at[n] = k - 1  # its gate has opened: it goes on as the others do
                moved[moved_count] = n
                moved_count += 1
                continue
            if code & 3 == FINISHED:
                if holder[n] >= 0:
                    person_free |= np.int64(1) << holder[n]
                if unit[n] >= 0:
                    machine_free |= np.int64(1) << unit[n]
                if lay.wait[k] > 0:
                    event_count = push(events, 0, event_count, ((t + lay.wait[k]) << 22) | (n << 2) | DRIED)
                    continue
            if lay.queue_rack[q] >= 0:
                rack_free[lay.queue_rack[q]] += 1
            moved[moved_count] = n
            moved_count += 1


@njit(cache=True, nogil=True)
def run(lay, dur, gates, out, now):
    """All futures. `dur` [M, T] int32, `gates` [M, G] int64, `out` [M or 1, P + K, days] uint8.

    Returns (done [M, N] minutes, status [M]). One thread, without the interpreter's lock: callers run several.
    """
    futures = dur.shape[0]
    table = timetable(lay.shifts, lay.shift_count, out.shape[2])
    done = np.empty((futures, lay.first.shape[0] - 1), np.int64)
    status = np.zeros(futures, np.int64)
    untraced = np.empty(0, np.int64)
    for m in range(futures):
        status[m] = simulate(
            lay, table, dur[m], gates[m], out[m % out.shape[0]], now, done[m], untraced, untraced, untraced
        )
    return done, status
