"""Why an order's forecast has moved: what each change since the last forecast did, with the same random futures."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from quoting.leadtime.calibration import Calibration
from quoting.leadtime.forecast import forecast
from quoting.leadtime.queue import QueuedOrder, Task
from quoting.leadtime.shop import MINUTES_A_DAY, Shop

HOURS = "absences, closures or hours"
NEWCOMERS = "orders accepted since"
RANK = "a change of rank"
WAITS = "what the order waits on"
REDO = "work to be done again or added"
LEARNT = "what the record has taught"
SLOWER = "work slower than expected, here or ahead"
FASTER = "work faster than expected, here or ahead"
MOST_WAITING = 20
WORTH_TELLING_DAYS = 0.5


@dataclass(frozen=True, slots=True)
class Snapshot:
    """All that a forecast was made from."""

    shop: Shop
    orders: tuple[QueuedOrder, ...]
    calibration: Calibration
    now: int


@dataclass(frozen=True, slots=True)
class Move:
    """Days by which the likely date moved (later is positive), and the share of each cause worth telling.

    Each cause is measured by taking it back alone; what is left over is work faster or slower than expected.
    """

    days: float
    reasons: tuple[tuple[str, float], ...]


def explain(
    before: Snapshot,
    after: Snapshot,
    *,
    typical: Sequence[Task] = (),
    futures: int = 250,
    seed: int = 0,
) -> dict[int, Move]:
    """Why each order that is in both queues, and not on hold, is likely by another date than before.

    One run over the same futures for each cause found, whatever the number of orders; what an order itself waits on
    is tried for orders that have moved, at most MOST_WAITING of them.
    """
    held = {o.key for s in (before, after) for o in s.orders if o.held}
    both = ({o.key for o in before.orders} & {o.key for o in after.orders}) - held

    def likely(s: Snapshot, keys: Iterable[int]) -> dict[int, float]:
        done = forecast(
            s.shop,
            s.orders,
            s.calibration,
            now_minute=s.now,
            futures=futures,
            seed=seed,
            typical=typical,
            until_done=frozenset(keys),
        )
        return {key: done.quantile(key, 0.5) / MINUTES_A_DAY for key in keys}

    if not both:
        return {}
    became, was = likely(after, both), likely(before, both)
    total = {key: became[key] - was[key] for key in both}
    found: dict[int, list[tuple[str, float]]] = {key: [] for key in both}
    for reason, undone in _undone(before, after):
        for key, days in likely(undone, both & {o.key for o in undone.orders if not o.held}).items():
            found[key].append((reason, became[key] - days))
    moved = sorted((k for k in both if abs(total[k]) >= WORTH_TELLING_DAYS), key=lambda k: -abs(total[k]))
    for key, undone in _without_waits(after, moved[:MOST_WAITING]):
        found[key].append((WAITS, became[key] - likely(undone, [key])[key]))
    return {key: _told(total[key], found[key]) for key in both}


def _told(total: float, found: list[tuple[str, float]]) -> Move:
    rest = total - sum(days for _, days in found)
    found.append((SLOWER if rest > 0 else FASTER, rest))
    told = [(reason, days) for reason, days in found if abs(days) >= WORTH_TELLING_DAYS]
    return Move(total, tuple(sorted(told, key=lambda pair: -abs(pair[1]))))


def _without_waits(after: Snapshot, keys: Sequence[int]) -> Iterator[tuple[int, Snapshot]]:
    """For each of these orders that waits on somebody outside: the queue as if that had come by now."""
    waiting = {o.key for o in after.orders if o.waits} & set(keys)
    for key in waiting:
        orders = tuple(replace(o, waits=()) if o.key == key else o for o in after.orders)
        yield key, replace(after, orders=orders)


def _undone(before: Snapshot, after: Snapshot) -> Iterator[tuple[str, Snapshot]]:
    """The present state with one change taken back at a time, for all orders at once."""
    old = {o.key: o for o in before.orders}
    if after.shop != before.shop:
        yield HOURS, replace(after, shop=before.shop)
    if any(o.key not in old for o in after.orders):
        yield NEWCOMERS, replace(after, orders=tuple(o for o in after.orders if o.key in old))
    ranked = tuple(_as_ranked(o, old.get(o.key, o)) for o in after.orders)
    if ranked != after.orders:
        yield RANK, replace(after, orders=ranked)
    # work done again lengthens a chain, which otherwise only grows shorter
    done = tuple(
        replace(o, tasks=o.tasks[max(0, len(o.tasks) - len(old.get(o.key, o).tasks)) :]) for o in after.orders
    )
    if done != after.orders:
        yield REDO, replace(after, orders=done)
    if after.calibration != before.calibration:
        yield LEARNT, replace(after, calibration=before.calibration)


def _as_ranked(now: QueuedOrder, then: QueuedOrder) -> QueuedOrder:
    return replace(now, klass=then.klass, rank=then.rank, held=then.held)
