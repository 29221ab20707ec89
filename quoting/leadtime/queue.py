"""The orders in the queue: chains of tasks, what they wait on, and what is already done."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Task:
    """One stage of one order. `work` is the estimate in minutes of work, `wait` the elapsed minutes after it
    (glue, varnish) through which the stage's rack is held. A started task names its person and when it began;
    `done` is work already recorded on it. `locked_person` and `not_before` are the owner's fixed decisions.
    """

    stage: str
    work: int
    wait: int = 0
    started: int | None = None
    person: str | None = None
    done: int = 0
    locked_person: str | None = None
    not_before: int | None = None


@dataclass(frozen=True, slots=True)
class OuterWait:
    """A wait on something outside the shop before the first task (or before the named stage).

    `kind` is "deposit", "drawing", "mock-up" or "timber"; `since` the minute it began (None: it begins when
    the order joins); `owner` "customer" or "supplier" for showing it apart from shop time.
    """

    kind: str
    owner: str
    since: int | None = None
    before_stage: str | None = None


@dataclass(frozen=True, slots=True)
class QueuedOrder:
    """One propeller's work in the queue.

    `key` is stable for the order's life (random numbers are keyed by it). `klass` 0 is rush, 1 ordinary;
    lower goes first, then `due` (minute of the stored promise, None sorts last), then `arrived`.
    `held` orders are out of the dispatch until released.
    """

    key: int
    name: str
    arrived: int
    tasks: tuple[Task, ...]
    waits: tuple[OuterWait, ...] = ()
    klass: int = 1
    due: int | None = None
    rank: float | None = None
    held: bool = False
    weight: float = 1.0
