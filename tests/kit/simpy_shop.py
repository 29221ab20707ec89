"""The same workshop written a second time, for a general simulation library: what the engine is compared with."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from heapq import heappop, heappush

import simpy

from quoting.leadtime.calendar import Calendar
from quoting.leadtime.shop import Person, Shop, StageType

LAST_OF_THE_MINUTE = 2  # simpy's own events have 0 and 1


@dataclass
class Step:
    """One visit to a stage with its drawn minutes; `only` names the one person allowed, `opens` the earliest minute."""

    stage: StageType
    minutes: int
    wait: int
    opens: int = 0
    only: str | None = None
    begun: bool = False


@dataclass
class Piece:
    """One order: its steps in turn and its rank (lower goes first). `done` is filled in."""

    rank: int
    steps: list[Step]
    done: int = -1
    go: simpy.Event | None = field(default=None, repr=False)
    helper: Person | None = field(default=None, repr=False)


class Workshop:
    """People, machines and racks as sets of what is free; one dispatch at the end of every minute with news."""

    def __init__(self, shop: Shop, pieces: list[Piece], now: int, absent: dict[str, frozenset[date]]) -> None:
        self.shop, self.calendar, self.absent = shop, Calendar(shop), absent
        self.env = simpy.Environment(initial_time=now)
        self.people = sorted(shop.persons, key=lambda p: (len(p.skills), shop.persons.index(p)))
        self.free = {p.key for p in shop.persons}
        self.idle = {m.key: m.count for m in shop.machines}
        self.machines = {m.key: m for m in shop.machines}
        self.places = {r.key: r.capacity for r in shop.racks}
        # who waits, by what they need: only the first of each can be the next to start
        self.lines: dict[tuple[str, str | None, bool], list[tuple[int, int, Piece, Step]]] = {}
        self.called = False
        self.left = len(pieces)
        self.all_done = self.env.event()
        for piece in pieces:
            self.env.process(self.build(piece))
        for p in shop.persons:
            self.env.process(self.clock_on(p))
        self.dispatch()

    def run(self) -> None:
        self.env.run(until=self.all_done)

    def call(self) -> None:
        if not self.called:
            self.called = True
            event = self.env.event()
            event.callbacks.append(lambda _: self.dispatch())
            event._ok, event._value = True, None
            self.env.schedule(event, priority=LAST_OF_THE_MINUTE)

    def clock_on(self, p: Person) -> Iterator[simpy.Event]:
        for opens, _ in self.calendar.intervals(p, self.env.now, self.absent.get(p.key, frozenset())):
            yield self.env.timeout(max(0, opens - self.env.now))
            self.call()

    def build(self, piece: Piece) -> Iterator[simpy.Event]:
        for step in piece.steps:
            if step.opens > self.env.now:
                yield self.env.timeout(step.opens - self.env.now)
            piece.go = self.env.event()
            line = self.lines.setdefault((step.stage.key, step.only, step.minutes > 0), [])
            heappush(line, (piece.rank, id(piece), piece, step))
            self.call()
            yield piece.go
            helper, machine = piece.helper, self.machine(step)
            if helper is not None:
                away = self.absent.get(helper.key, frozenset())
                off = self.machines[machine] if machine else None
                end = self.calendar.finish(helper, self.env.now, step.minutes, away, off)
                yield self.env.timeout(end - self.env.now)
                self.free.add(helper.key)
                if machine:
                    self.idle[machine] += 1
                self.call()
            if step.wait:
                yield self.env.timeout(step.wait)
            if step.stage.rack:
                self.places[step.stage.rack] += 1
                self.call()
        piece.done = int(self.env.now)
        self.left -= 1
        if self.left == 0:
            self.all_done.succeed()

    @staticmethod
    def machine(step: Step) -> str | None:
        return step.stage.machine if step.minutes else None

    def on_shift(self, p: Person) -> bool:
        now, day = self.env.now % 1440, self.calendar.day(self.env.now)
        return day not in self.absent.get(p.key, ()) and any(
            a <= now < b for a, b in self.calendar.shifts(p, day)
        )

    def dispatch(self) -> None:
        self.called = False
        while True:
            for line in sorted((line for line in self.lines.values() if line), key=lambda line: line[0][0]):
                if self.start(*line[0][2:]):
                    heappop(line)
                    break
            else:
                return

    def start(self, piece: Piece, step: Step) -> bool:
        machine, rack, helper = self.machine(step), step.stage.rack, None
        if machine and (
            self.idle[machine] == 0 or self.calendar.day(self.env.now) in self.machines[machine].out_of_use
        ):
            return False
        if rack and self.places[rack] <= 0:
            return False
        if step.minutes:
            able = [
                p
                for p in self.people
                if p.key in self.free
                and (p.key == step.only if step.only else step.stage.skill in p.skills)
                and self.on_shift(p)
            ]
            if not able:
                return False
            helper = able[0]
            self.free.discard(helper.key)
        if machine:
            self.idle[machine] -= 1
        if rack:
            self.places[rack] -= 1
        piece.helper = helper
        assert piece.go is not None
        piece.go.succeed()
        return True
