"""Why an order's forecast has moved: what each change since the last forecast did, with the same random futures."""

from collections.abc import Iterator, Sequence
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
PROGRESS = "work done faster or slower than expected"
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

    Each cause is measured by taking it back alone; what is left over is progress.
    """

    days: float
    reasons: tuple[tuple[str, float], ...]


def explain(
    before: Snapshot,
    after: Snapshot,
    key: int,
    *,
    typical: Sequence[Task] = (),
    futures: int = 250,
    seed: int = 0,
) -> Move:
    """Why order `key` is likely by another date than before. Raises KeyError if it is not in both queues."""

    def likely(s: Snapshot) -> float:
        done = forecast(
            s.shop,
            s.orders,
            s.calibration,
            now_minute=s.now,
            futures=futures,
            seed=seed,
            typical=typical,
            until_done=frozenset({key}),
        )
        return done.quantile(key, 0.5) / MINUTES_A_DAY

    mine = {o.key: o for o in before.orders}[key]
    became = likely(after)
    total = became - likely(before)
    found = [(reason, became - likely(undone)) for reason, undone in _undone(before, after, mine)]
    found.append((PROGRESS, total - sum(days for _, days in found)))
    told = [(reason, days) for reason, days in found if abs(days) >= WORTH_TELLING_DAYS]
    return Move(total, tuple(sorted(told, key=lambda pair: -abs(pair[1]))))


def _undone(before: Snapshot, after: Snapshot, mine: QueuedOrder) -> Iterator[tuple[str, Snapshot]]:
    """The present state with one change taken back at a time."""
    now_mine = {o.key: o for o in after.orders}[mine.key]
    known = {o.key for o in before.orders}

    def with_mine(**changes: object) -> Snapshot:
        changed = replace(now_mine, **changes)  # type: ignore[arg-type]
        return replace(after, orders=tuple(changed if o.key == mine.key else o for o in after.orders))

    if after.shop != before.shop:
        yield HOURS, replace(after, shop=before.shop)
    if {o.key for o in after.orders} - known:
        yield NEWCOMERS, replace(after, orders=tuple(o for o in after.orders if o.key in known))
    if (now_mine.klass, now_mine.rank, now_mine.held) != (mine.klass, mine.rank, mine.held):
        yield RANK, with_mine(klass=mine.klass, rank=mine.rank, held=mine.held)
    if now_mine.waits:
        # as if what the customer or supplier owes had come by now
        yield WAITS, with_mine(waits=())
    if len(now_mine.tasks) > len(mine.tasks):
        yield REDO, with_mine(tasks=now_mine.tasks[len(now_mine.tasks) - len(mine.tasks) :])
    if after.calibration != before.calibration:
        yield LEARNT, replace(after, calibration=before.calibration)
