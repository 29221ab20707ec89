"""The shop as the queue sees it: people with skills and hours, machines, racks, stages, closures. Integer minutes.

Time is counted in whole minutes of local wall-clock shop time from midnight of `Shop.epoch` (a Monday). Day d
starts at minute d * 1440. Local time is used throughout, so that a shift that starts at eight starts at eight on
both sides of a clock change; conversion to instants happens at the edges.
"""

from dataclasses import dataclass
from datetime import date

MINUTES_A_DAY = 1440


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody at the bench. `week` gives the (start, end) minute intervals of each weekday, Monday first."""

    key: str
    name: str
    skills: frozenset[str]
    week: tuple[tuple[tuple[int, int], ...], ...]
    away: frozenset[date] = frozenset()


@dataclass(frozen=True, slots=True)
class Machine:
    """A machine that one task occupies at a time; `count` of them stand side by side."""

    key: str
    name: str
    out_of_use: frozenset[date] = frozenset()
    count: int = 1


@dataclass(frozen=True, slots=True)
class Rack:
    """Places held through a wait: clamps while glue sets, hooks while varnish dries."""

    key: str
    name: str
    capacity: int


@dataclass(frozen=True, slots=True)
class StageType:
    """One step of the build: which skill does it, on which machine, and which rack holds the wait after it."""

    key: str
    name: str
    skill: str
    machine: str | None = None
    rack: str | None = None


@dataclass(frozen=True, slots=True)
class Shop:
    """Everything the queue needs to know of the workshop, apart from the orders."""

    epoch: date
    timezone: str
    persons: tuple[Person, ...]
    machines: tuple[Machine, ...]
    racks: tuple[Rack, ...]
    stages: tuple[StageType, ...]
    closed: frozenset[date] = frozenset()
