"""Local search for a better order of work, over the same engine: one future of planning durations, compiled."""
# mypy: disable-error-code="untyped-decorator,misc,no-untyped-def,no-untyped-call,assignment"
# The kernels' types are inferred by the compiler, not written.

import numpy as np
from numba import njit

from quoting.leadtime.engine import OK, simulate

RANK_STEP = 1 << 20
FLOW_WEIGHT = 0.01  # of an order-minute in the shop against a minute late: decides between equally late plans
IMPOSSIBLE = 1e18


@njit(cache=True, nogil=True)
def cost_of(done, due, weight, makespan_weight):
    """Weighted minutes late, plus a little for the time in the shop and the last completion."""
    total, last = 0.0, 0.0
    for n in range(done.shape[0]):
        if done[n] < 0:
            continue
        total += weight[n] * max(0, done[n] - due[n]) + FLOW_WEIGHT * done[n]
        last = max(last, done[n])
    return total + makespan_weight * last


@njit(cache=True, nogil=True)
def decode(setting, pinned, choices, draft, opens, done, begin, end, who):
    """Play a plan through the engine. `setting` is (layout, table, dur, gates, out, now).

    Of `draft`: orders go first in the turn of `places`, single tasks `shift` places sooner or later, none before its
    `hold` minute, and a task with a `hand` >= 0 only by that person, through the queue `choices` [Q, P] names. The
    first `pinned` places are the owner's: nothing is shifted among or before them. The layout's gates are one column
    a task and its ranks and queues are overwritten; `opens` [T] is scratch. Returns the engine's status.
    """
    lay, table, dur, gates, out, now = setting
    places, shift, hold, hand, usual = draft
    for place in range(places.shape[0]):
        n = places[place]
        for k in range(lay.first[n], lay.first[n + 1]):
            if place < pinned:
                turn = place + 1
            else:
                turn = max(pinned, place + 1 + shift[k])
            lay.rank[k] = turn * RANK_STEP + place
            opens[k] = max(gates[k], hold[k])
            lay.queue[k] = usual[k] if hand[k] < 0 else choices[usual[k], hand[k]]
    return simulate(lay, table, dur, opens, out, now, done, begin, end, who)


@njit(cache=True, nogil=True)
def search_plans(
    setting, pinned, choices, due, weight, draft, best, cost, best_cost, heat, fine, decodes, seed
):
    """`decodes` steps of annealing at `heat` (share of the cost).

    A step moves one order by a few places or anywhere; or, in a share `fine` of the steps, changes single tasks:
    sets one's shift, has it wait though its hands are free, gives it to one person, or lets a task of a late order
    go before one that kept it waiting. `draft` and `best` are (places, shift, hold, hand, usual queue), changed in
    place. Returns (cost, best cost).
    """
    np.random.seed(seed)
    places, shift, hold, hand, usual = draft
    lay, dur = setting[0], setting[2]
    orders, tasks, people = places.shape[0], dur.shape[0], choices.shape[1]
    done = np.empty(lay.first.shape[0] - 1, np.int64)
    begin, end, who = np.empty(tasks, np.int64), np.empty(tasks, np.int64), np.empty(tasks, np.int64)
    opens = np.zeros(tasks, np.int64)
    decode(setting, pinned, choices, draft, opens, done, begin, end, who)
    held = (begin.copy(), end.copy(), who.copy(), done.copy())
    turn = lay.rank // RANK_STEP
    before = (places.copy(), shift.copy(), hold.copy(), hand.copy(), usual.copy())
    for _ in range(decodes):
        kind = 0 if np.random.random() >= fine else np.random.randint(1, 7)
        k = np.random.randint(tasks)
        if kind == 0:
            _move(places, pinned)
        elif kind == 1:
            shift[k] = 0 if np.random.random() < 0.3 else np.random.randint(-orders, orders + 1)
        elif kind == 2:
            if hold[k] > 0 or held[0][k] < 0:
                hold[k] = 0
            else:
                hold[k] = held[0][k] + np.random.randint(1, 2 * dur[k] + 60)
        elif kind == 3:
            person = np.random.randint(people) if people > 0 and np.random.random() < 0.7 else -1
            hand[k] = person if person >= 0 and choices[usual[k], person] >= 0 else -1
        else:
            _let_by(lay, turn, held, due, weight, shift, hold, kind)
        status = decode(setting, pinned, choices, draft, opens, done, begin, end, who)
        new = cost_of(done, due, weight, 0.0) if status == OK else IMPOSSIBLE
        if new <= cost or np.random.random() < np.exp((cost - new) / max(heat * cost, 1e-9)):
            cost = new
            _copy((begin, end, who, done), held)
            for i in range(tasks):
                turn[i] = lay.rank[i] // RANK_STEP
            _copy(draft, before)
            if new < best_cost:
                best_cost = new
                _copy(draft, best)
        else:
            _copy(before, draft)
    return cost, best_cost


@njit(cache=True, nogil=True)
def _copy(source, target):
    """Copy arrays into others of the same lengths, element by element: slices take ten times as long to compile."""
    for part in range(len(target)):
        for i in range(target[part].shape[0]):
            target[part][i] = source[part][i]


@njit(cache=True, nogil=True)
def _let_by(lay, turn, played, due, weight, shift, hold, kind):
    """Let a waiting task of a late order go before one that kept its person or machine meanwhile.

    With `kind` 4 by urgency alone; else the other one also waits until this one is ready.
    """
    begin, end, who, done = played
    n = _late_order(due, weight, done)
    first, last = lay.first[n], lay.first[n + 1]
    k, seen, ready = -1, 0, np.int64(0)
    free = np.int64(0)
    for i in range(first, last):
        if begin[i] < 0:
            continue
        if free > 0 and begin[i] > free:
            seen += 1
            if np.random.randint(seen) == 0:
                k, ready = i, free
        free = end[i] + lay.wait[i]
    if k < 0:
        return
    machines = lay.queue_machines[lay.queue[k]]
    other, seen = -1, 0
    for j in range(begin.shape[0]):
        if (j >= first and j < last) or begin[j] < 0 or begin[j] >= begin[k] or end[j] <= ready:
            continue
        same = who[j] == who[k] and who[k] >= 0
        if same or machines & lay.queue_machines[lay.queue[j]] != 0:
            seen += 1
            if np.random.randint(seen) == 0:
                other = j
    if other < 0:
        return
    shift[k] += min(turn[other] - 1 - turn[k], 0)
    if kind > 4 and begin[other] < ready:
        hold[other] = ready


@njit(cache=True, nogil=True)
def _late_order(due, weight, done):
    """An order drawn in proportion to its weighted minutes late, or any if none is late."""
    total = 0.0
    for n in range(done.shape[0]):
        if done[n] >= 0:
            total += weight[n] * max(0, done[n] - due[n])
    if total <= 0:
        return np.random.randint(done.shape[0])
    mark = np.random.random() * total
    for n in range(done.shape[0]):
        if done[n] >= 0:
            mark -= weight[n] * max(0, done[n] - due[n])
            if mark < 0:
                return n
    return done.shape[0] - 1


@njit(cache=True, nogil=True)
def _move(places, pinned):
    """Take one order past the pinned ones out and put it back up to twelve places away, one time in five anywhere."""
    orders = places.shape[0]
    if pinned >= orders:
        return
    source = np.random.randint(pinned, orders)
    target = np.random.randint(pinned, orders)
    if np.random.random() < 0.8:
        target = min(max(source + np.random.randint(-12, 13), pinned), orders - 1)
    moved = places[source]
    step = 1 if target > source else -1
    for i in range(source, target, step):
        places[i] = places[i + step]
    places[target] = moved


@njit(cache=True, nogil=True)
def search_turns(lay, table, dur, gates, out, now, turn, cost, best, best_cost, heat, decodes, seed):
    """Annealing on the turns of tasks on single machines, swapping neighbours on a critical path (makespan).

    Swapping two neighbours of one machine on a longest path can never make the turns contradict each other
    (van Laarhoven, Aarts & Lenstra, Operations Research 40 (1992) 113). `turn` and `best` change in place.
    Returns (cost, best cost).
    """
    np.random.seed(seed)
    tasks = turn.shape[0]
    orders = lay.first.shape[0] - 1
    done = np.empty(orders, np.int64)
    begin, end, who = np.empty(tasks, np.int64), np.empty(tasks, np.int64), np.empty(tasks, np.int64)
    order_of = np.empty(tasks, np.int64)
    for n in range(orders):
        order_of[lay.first[n] : lay.first[n + 1]] = n
    before = np.full(tasks, np.int64(-1))
    at = np.full((lay.queue_people.shape[0], tasks), np.int64(-1))
    pairs = np.empty(tasks, np.int64)
    for k in range(tasks):
        at[lay.queue[k], turn[k]] = k
    _replay(lay, table, dur, gates, out, now, turn, done, begin, end, who)
    for _ in range(decodes):
        for k in range(tasks):
            before[k] = at[lay.queue[k], turn[k] - 1] if turn[k] > 0 else -1
        count = _critical_pairs(lay, begin, end, before, order_of, pairs)
        if count == 0:
            return cost, best_cost
        later = pairs[np.random.randint(count)]
        earlier = before[later]
        _swap(turn, at, lay.queue[later], earlier, later)
        status = _replay(lay, table, dur, gates, out, now, turn, done, begin, end, who)
        new = np.float64(done.max()) if status == OK else IMPOSSIBLE
        if new <= cost or np.random.random() < np.exp((cost - new) / max(heat * cost, 1e-9)):
            cost = new
            if new < best_cost:
                best_cost = new
                best[:] = turn
        else:
            _swap(turn, at, lay.queue[later], later, earlier)
            _replay(lay, table, dur, gates, out, now, turn, done, begin, end, who)
    return cost, best_cost


@njit(cache=True, nogil=True)
def _replay(lay, table, dur, gates, out, now, turn, done, begin, end, who):
    lay.rank[:] = turn
    lay.turn[:] = turn
    return simulate(lay, table, dur, gates, out, now, done, begin, end, who)


@njit(cache=True, nogil=True)
def _swap(turn, at, queue, earlier, later):
    turn[earlier], turn[later] = turn[later], turn[earlier]
    at[queue, turn[earlier]] = earlier
    at[queue, turn[later]] = later


@njit(cache=True, nogil=True)
def _critical_pairs(lay, begin, end, before, order_of, pairs):
    """Tasks that start the moment their machine's previous task ends, along one longest path drawn at random."""
    count = 0
    k = np.argmax(end)
    while k >= 0 and begin[k] > 0:
        in_order = k - 1 if k > lay.first[order_of[k]] and end[k - 1] + lay.wait[k - 1] == begin[k] else -1
        on_machine = before[k] if before[k] >= 0 and end[before[k]] == begin[k] else -1
        if on_machine >= 0 and (in_order < 0 or np.random.random() < 0.5):
            if order_of[on_machine] != order_of[k]:
                pairs[count] = k
                count += 1
            k = on_machine
        else:
            k = in_order
    return count
