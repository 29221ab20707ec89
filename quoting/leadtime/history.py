"""What really happened, as far as it was recorded; and the queue as it stood at any past minute."""

from collections.abc import Sequence
from dataclasses import dataclass

from quoting.leadtime.queue import OuterWait, QueuedOrder, Task
from quoting.leadtime.shop import MINUTES_A_DAY


@dataclass(frozen=True, slots=True)
class StageRecord:
    """One visit to a stage. `task` is the index in the order's route; a redo carries that of the stage redone.

    `estimate` and `wait` in minutes; `work` the minutes really worked, breaks and nights left out, counted when
    it ended. `end` None: not ended yet. `redo` says that its result sent the order round the rework loop again;
    `touch_up` that this was the work between two passes. `worked` minutes so far at `noted` for unended work.
    """

    task: int
    stage: str
    estimate: int
    wait: int
    person: str | None
    begin: int
    end: int | None = None
    work: int | None = None
    redo: bool = False
    touch_up: bool = False


@dataclass(frozen=True, slots=True)
class WaitRecord:
    """A wait on the outside, from `since` to `until` (None: still waiting)."""

    kind: str
    owner: str
    since: int
    until: int | None = None
    before_stage: str | None = None


@dataclass(frozen=True, slots=True)
class OrderRecord:
    """An order from arrival to completion. `quoted` are the 50, 80 and 95 % minutes said, before widening."""

    key: int
    arrived: int
    klass: int
    due: int | None
    route: tuple[Task, ...]
    stages: tuple[StageRecord, ...] = ()
    waits: tuple[WaitRecord, ...] = ()
    finished: int | None = None
    quoted: tuple[int, int, int] | None = None


@dataclass(frozen=True, slots=True)
class History:
    """Everything recorded from minute `since` on. `absences` are (person, day number) of unplanned days away,
    `breakdowns` (machine, day number); day numbers count from the shop's epoch."""

    since: int
    orders: tuple[OrderRecord, ...]
    absences: frozenset[tuple[str, int]] = frozenset()
    breakdowns: frozenset[tuple[str, int]] = frozenset()


def queue_at(
    history: History, minute: int, *, touch_stage: str, touch: float, again: float
) -> list[QueuedOrder]:
    """The queue as it stood at the minute, from records up to it alone.

    `touch` and `again` are the planned shares of a rework's touch-up and next pass (see ReworkLoop).
    """
    return [
        _as_queued(order, minute, touch_stage, touch, again)
        for order in history.orders
        if order.arrived <= minute and (order.finished is None or order.finished > minute)
    ]


def _as_queued(order: OrderRecord, minute: int, touch_stage: str, touch: float, again: float) -> QueuedOrder:
    known = [r for r in order.stages if r.begin <= minute]
    ahead = 0
    tasks: list[Task] = []
    if known:
        last = known[-1]
        ahead = last.task + 1
        planned = order.route[last.task]
        second = Task(planned.stage, max(1, round(planned.work * again)), planned.wait)
        if last.end is None or last.end > minute:
            done = worked_so_far(last, minute)
            tasks.append(
                Task(
                    last.stage,
                    max(last.estimate, 1),
                    last.wait,
                    started=last.begin,
                    person=last.person,
                    done=done,
                )
            )
            tasks += [second] if last.touch_up else []
        elif last.redo:
            tasks += [Task(touch_stage, max(1, round(planned.work * touch))), second]
        elif last.touch_up:
            tasks.append(second)
        elif last.end + last.wait > minute:
            tasks.append(Task(last.stage, 0, last.end + last.wait - minute, started=last.begin))
    waits = tuple(
        OuterWait(w.kind, w.owner, w.since, w.before_stage)
        for w in order.waits
        if w.since <= minute and (w.until is None or w.until > minute)
    )
    return QueuedOrder(
        order.key,
        f"order {order.key}",
        order.arrived,
        (*tasks, *order.route[ahead:]),
        waits,
        klass=order.klass,
        due=order.due,
    )


def worked_so_far(record: StageRecord, minute: int) -> int:
    """Minutes of work that may have gone into unended work by now: at most eight hours a day since it began."""
    nights = minute // MINUTES_A_DAY - record.begin // MINUTES_A_DAY
    return min(minute - record.begin, max(0, minute - record.begin - nights * 16 * 60))


def typical_route(orders: Sequence[OrderRecord], fallback: Sequence[Task]) -> tuple[Task, ...]:
    """The mean route of the orders, or the fallback where there are none."""
    return mean_route([o.route for o in orders]) or tuple(fallback)


def mean_route(routes: Sequence[tuple[Task, ...]]) -> tuple[Task, ...]:
    """Of the routes with the commonest chain of stages, each stage's mean estimate and wait; empty for none."""
    chains: dict[tuple[str, ...], list[tuple[Task, ...]]] = {}
    for route in routes:
        chains.setdefault(tuple(t.stage for t in route), []).append(route)
    same = max(chains.values(), key=len, default=[])
    return tuple(
        Task(
            visits[0].stage,
            round(sum(t.work for t in visits) / len(same)),
            round(sum(t.wait for t in visits) / len(same)),
        )
        for visits in zip(*same, strict=True)
    )
