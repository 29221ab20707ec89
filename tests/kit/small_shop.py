"""An invented small shop and its queue for the tests of the forecast and the plan."""

from datetime import date

from quoting.leadtime.queue import OuterWait, QueuedOrder, Task
from quoting.leadtime.shop import Machine, Person, Rack, Shop, StageType

EPOCH = date(2026, 1, 5)
NOW = 8 * 60
DAY = ((480, 720), (780, 1020))
FULL_WEEK = (DAY,) * 5 + ((), ())
HALF_WEEK = (DAY, DAY, DAY, (), (), (), ())

STAGES = (
    StageType("condition", "Condition timber", "lamination"),
    StageType("laminate", "Laminate", "lamination", "planer", "clamps"),
    StageType("rest", "Rest", "lamination"),
    StageType("bore", "Bore", "drilling", "drill press"),
    StageType("rough-carve", "Rough carve", "carving", "carver"),
    StageType("sand", "Sand", "finishing"),
    StageType("track", "Track", "carving", "stand"),
    StageType("balance", "Balance", "balancing", "stand"),
    StageType("drill", "Drill", "drilling", "drill press"),
    StageType("varnish", "Varnish", "finishing", "booth", "hooks"),
    StageType("inspect", "Inspect", "inspection"),
    StageType("crate", "Crate", "finishing"),
)
ROUTE = (
    Task("condition", 40),
    Task("laminate", 120, 18 * 60),
    Task("rest", 0, 5 * 1440),
    Task("bore", 30),
    Task("rough-carve", 240),
    Task("sand", 150),
    Task("track", 40),
    Task("balance", 60),
    Task("drill", 60),
    Task("varnish", 30, 16 * 60),
    Task("varnish", 30, 16 * 60),
    Task("inspect", 20),
    Task("crate", 25),
)


def person(key: str, *skills: str, week: tuple = FULL_WEEK, away: frozenset[date] = frozenset()) -> Person:
    return Person(key, key.title(), frozenset(skills), week, away)


def shop(**changes: object) -> Shop:
    """Three people and a part-timer, five machines, clamps for two blanks and hooks for four propellers."""
    parts: dict = {
        "epoch": EPOCH,
        "timezone": "Europe/London",
        "persons": (
            person("ada", "lamination", "carving", "finishing", "balancing", "drilling", "inspection"),
            person("ben", "carving", "finishing", "balancing"),
            person("cleo", "lamination", "drilling", "finishing", away=frozenset({date(2026, 1, 8)})),
            person("dov", "finishing", "inspection", week=HALF_WEEK),
        ),
        "machines": (
            *(Machine(k, k.title()) for k in ("planer", "carver", "drill press")),
            Machine("stand", "Stand", count=2),
            Machine("booth", "Booth", frozenset({date(2026, 1, 14), date(2026, 1, 15)})),
        ),
        "racks": (Rack("clamps", "Clamps", 2), Rack("hooks", "Hooks", 4)),
        "stages": STAGES,
        "closed": frozenset({date(2026, 1, 19)}),
    }
    return Shop(**(parts | changes))


def order(key: int, *, skip: int = 0, size: float = 1.0, klass: int = 1, **rest: object) -> QueuedOrder:
    """An order that has `skip` stages behind it."""
    tasks = tuple(Task(t.stage, round(t.work * size), t.wait) for t in ROUTE[skip:])
    return QueuedOrder(key, f"order {key}", rest.pop("arrived", key), tasks, klass=klass, **rest)  # type: ignore[arg-type]


def queue(count: int) -> tuple[QueuedOrder, ...]:
    """A mixed queue: some just accepted and waiting on a deposit, some half-way, one in nine rushed."""
    deposit = (OuterWait("deposit", "customer"),)
    return tuple(
        order(
            1 + i,
            skip=0 if i % 4 == 0 else 3 * (i % 4),
            size=0.7 + 0.1 * (i % 7),
            klass=0 if i % 9 == 4 else 1,
            waits=deposit if i % 4 == 0 else (),
            due=(10 + 2 * i) * 1440,
        )
        for i in range(count)
    )
