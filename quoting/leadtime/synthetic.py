"""Made-up shops whose truth departs from what their planner believes: the forecast is tried on them.

Written with a general simulation library and apart from the forecast's own engine and draws. The planner's shop,
estimates and route are what the forecast is given; how work, redoing, sickness, waits and breakdowns really go is
drawn here and only shows in the record.
"""

from collections.abc import Generator
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from math import exp, log, pi, sin, sqrt

import numpy as np
import simpy

from quoting.leadtime.history import History, OrderRecord, StageRecord, WaitRecord
from quoting.leadtime.queue import Task
from quoting.leadtime.shop import MINUTES_A_DAY, Machine, Person, Rack, Shop, StageType

EPOCH = date(2023, 1, 2)
SHIFT = ((480, 720), (780, 1020))
WEEK = (SHIFT,) * 5 + ((), ())
THREE_DAYS = (SHIFT,) * 3 + ((),) * 4
RUSH_HEAD_START = 45 * MINUTES_A_DAY
STAGES = (
    StageType("condition", "Condition timber", "lamination"),
    StageType("laminate", "Laminate", "lamination", "planer", "clamps"),
    StageType("rest", "Rest", "lamination"),
    StageType("bore", "Bore", "drilling", "drill press"),
    StageType("rough-carve", "Rough carve", "carving", "carver"),
    StageType("shape-boss", "Shape boss", "carving"),
    StageType("sand", "Sand", "finishing"),
    StageType("track", "Track", "carving", "stand"),
    StageType("balance", "Balance", "balancing", "stand"),
    StageType("drill", "Drill", "drilling", "drill press"),
    StageType("varnish", "Varnish", "finishing", "booth", "hooks"),
    StageType("final-balance", "Final balance", "balancing", "stand"),
    StageType("inspect", "Inspect", "inspection"),
    StageType("crate", "Crate", "finishing"),
)
ROUTE = (
    Task("condition", 60),
    Task("laminate", 150, 16 * 60),
    Task("rest", 0, 4 * MINUTES_A_DAY),
    Task("bore", 40),
    Task("rough-carve", 300),
    Task("shape-boss", 90),
    Task("sand", 200),
    Task("track", 45),
    Task("balance", 75),
    Task("drill", 60),
    Task("varnish", 45, 16 * 60),
    Task("varnish", 45, 16 * 60),
    Task("final-balance", 40),
    Task("inspect", 30),
    Task("crate", 30),
)


@dataclass(frozen=True, slots=True)
class Truth:
    """How a made-up shop really is. Spreads are of logarithms; shares of days; waits in days."""

    stage_bias: dict[str, float]
    task_cv: float
    order_cv: float
    drift: tuple[float, ...]
    again: float
    sick_share: float
    breakdown_share: float
    approval_days: float
    deposit_days: float
    timber_days: float
    timber_share: float
    rush_share: float
    arrivals_a_day: float
    season: float


def synthetic(seed: int, *, years: int = 3) -> tuple[Shop, History]:
    """One made-up shop as its planner sees it, and `years` of its record. The same seed gives the same shop."""
    rng = np.random.default_rng([20260, seed])
    shop = planners_shop(rng)
    truth = hidden_truth(rng, shop, years)
    return shop, _Life(shop, truth, rng, years).live()


def planners_shop(rng: np.random.Generator) -> Shop:
    """Three or four people, one of them part-time in every second shop."""
    persons = [
        Person("a", "A", frozenset({"lamination", "carving", "balancing", "drilling", "inspection"}), WEEK),
        Person("b", "B", frozenset({"carving", "finishing", "balancing"}), WEEK),
        Person("c", "C", frozenset({"lamination", "drilling", "finishing", "inspection"}), WEEK),
    ]
    if rng.random() < 0.5:
        persons.append(Person("d", "D", frozenset({"finishing", "carving"}), THREE_DAYS))
    machines = tuple(Machine(key, key) for key in ("planer", "drill press", "carver", "stand", "booth"))
    racks = (Rack("clamps", "Clamps", 3), Rack("hooks", "Hooks", 5))
    closed = frozenset(EPOCH + timedelta(days=364 * y + 356 + d) for y in range(12) for d in range(8))
    return Shop(EPOCH, "Europe/London", tuple(persons), machines, racks, STAGES, closed)


def hidden_truth(rng: np.random.Generator, shop: Shop, years: int) -> Truth:
    """Estimates a quarter too short and unevenly so, drift, sickness, redoing and waits beyond the planner's belief."""
    bias = {s.key: log(1.25) + rng.normal(0, 0.2) for s in shop.stages}
    level, drift = 0.0, []
    for _ in range(12 * years + 24):
        level = 0.8 * level + rng.normal(0, 0.09 * sqrt(1 - 0.8**2))
        drift.append(level)
    sick, again = rng.uniform(0.04, 0.07), rng.uniform(0.45, 0.6)
    work = sum(t.work * exp(bias[t.stage]) for t in ROUTE) * 1.06 + 75 * again / (1 - again) * 1.1 * exp(
        bias["balance"]
    )
    a_week = (
        sum(end - start for p in shop.persons for day in p.week for start, end in day) * (1 - sick) * 0.975
    )
    return Truth(
        stage_bias=bias,
        task_cv=0.45,
        order_cv=0.2,
        drift=tuple(drift),
        again=again,
        sick_share=sick,
        breakdown_share=rng.uniform(0.01, 0.03),
        approval_days=4.0,
        deposit_days=3.0,
        timber_days=10.0,
        timber_share=0.2,
        rush_share=0.1,
        arrivals_a_day=rng.uniform(0.78, 0.88) * a_week / 7 / work,
        season=0.25,
    )


@dataclass
class _Order:
    """An order in the making, its record growing."""

    key: int
    arrived: int
    klass: int
    route: tuple[Task, ...]
    effect: float
    stages: list[StageRecord] = field(default_factory=list)
    waits: list[WaitRecord] = field(default_factory=list)
    finished: int | None = None


@dataclass
class _Job:
    """One piece of work that waits for hands: rank, stage, true minutes, and the events that tell its story."""

    rank: tuple[int, int]
    stage: StageType
    minutes: int
    begun: simpy.Event
    done: simpy.Event
    person: str = ""
    begin: int = -1


class _Life:
    """The days of the shop: people take the most urgent work they can do whenever they are free and there."""

    def __init__(self, shop: Shop, truth: Truth, rng: np.random.Generator, years: int) -> None:
        self.shop, self.truth, self.rng = shop, truth, rng
        self.days = 365 * years
        self.env = simpy.Environment()
        self.jobs: list[_Job] = []
        self.news = self.env.event()
        self.idle = {m.key for m in shop.machines}
        self.places = {r.key: r.capacity for r in shop.racks}
        self.stage = {s.key: s for s in shop.stages}
        self.out = {p.key: self._spells(truth.sick_share, (1, 2, 3, 5, 15)) for p in shop.persons}
        self.down = {m.key: self._spells(truth.breakdown_share, (1, 2, 4)) for m in shop.machines}
        self.orders: list[_Order] = []

    def _spells(self, share: float, lengths: tuple[int, ...]) -> set[int]:
        """Day numbers out, in spells of these lengths in turn of chance."""
        days: set[int] = set()
        mean = sum(lengths) / len(lengths)
        for day in range(self.days + 400):
            if self.rng.random() < share / mean / (1 - share):
                days.update(range(day, day + int(self.rng.choice(lengths))))
        return days

    def live(self) -> History:
        self.env.process(self._arrivals())
        for person in self.shop.persons:
            self.env.process(self._works(person))
        self.env.run(until=(self.days + 200) * MINUTES_A_DAY)
        end = self.days * MINUTES_A_DAY
        records = tuple(
            OrderRecord(
                o.key,
                o.arrived,
                o.klass,
                o.arrived - (RUSH_HEAD_START if o.klass == 0 else 0),
                o.route,
                tuple(o.stages),
                tuple(o.waits),
                o.finished,
            )
            for o in self.orders
            if o.arrived < end
        )
        named = [(self.out, "absences"), (self.down, "breakdowns")]
        kept = {
            name: frozenset((who, day) for who, days in table.items() for day in days)
            for table, name in named
        }
        return History(0, records, kept["absences"], kept["breakdowns"])

    def _arrivals(self) -> Generator[simpy.Event, None, None]:
        key = 0
        while True:
            season = 1 + self.truth.season * sin(2 * pi * self.env.now / MINUTES_A_DAY / 365)
            gap = self.rng.exponential(MINUTES_A_DAY / self.truth.arrivals_a_day / season)
            yield self.env.timeout(max(1, round(gap)))
            key += 1
            size = exp(self.rng.normal(0, 0.25))
            route = tuple(replace(t, work=round(t.work * size)) for t in ROUTE)
            klass = 0 if self.rng.random() < self.truth.rush_share else 1
            spread = sqrt(log(1 + self.truth.order_cv**2))
            order = _Order(key, int(self.env.now), klass, route, self.rng.normal(-(spread**2) / 2, spread))
            self.orders.append(order)
            self.env.process(self._build(order))

    def _outside(self, order: _Order, kind: str, owner: str, days: float) -> simpy.Event:
        length = max(60, round(self.rng.gamma(2.0, days / 2) * MINUTES_A_DAY))
        now = int(self.env.now)
        order.waits.append(WaitRecord(kind, owner, now, now + length))
        return self.env.timeout(length)

    def _build(self, order: _Order) -> Generator[simpy.Event, None, None]:
        waits = [
            self._outside(order, "deposit", "customer", self.truth.deposit_days),
            self._outside(order, "drawing", "customer", self.truth.approval_days),
        ]
        if self.rng.random() < self.truth.timber_share:
            waits.append(self._outside(order, "timber", "supplier", self.truth.timber_days))
        yield self.env.all_of(waits)
        for number, task in enumerate(order.route):
            yield from self._visit(order, number, task, task.work)
            while task.stage == "balance" and self.rng.random() < self.truth.again:
                order.stages[-1] = replace(order.stages[-1], redo=True)
                touch = Task("sand", max(1, round(task.work * 0.5)))
                yield from self._visit(order, number, touch, touch.work, touch_up=True)
                again = max(1, round(task.work * 0.6))
                yield from self._visit(order, number, replace(task, work=again), again)
        order.finished = int(self.env.now)

    def _visit(
        self, order: _Order, number: int, task: Task, estimate: int, *, touch_up: bool = False
    ) -> Generator[simpy.Event, None, None]:
        stage = self.stage[task.stage]
        if estimate:
            month = int(self.env.now // MINUTES_A_DAY // 30)
            spread = sqrt(log(1 + self.truth.task_cv**2))
            factor = self.truth.stage_bias[stage.key] + self.truth.drift[month] + order.effect
            minutes = max(1, round(estimate * exp(factor + self.rng.normal(-(spread**2) / 2, spread))))
            head_start = RUSH_HEAD_START if order.klass == 0 else 0
            job = _Job(
                (order.arrived - head_start, order.key), stage, minutes, self.env.event(), self.env.event()
            )
            self.jobs.append(job)
            at = len(order.stages)
            job.done.callbacks.append(lambda _: self._recorded(order, at, job))
            self._tell()
            yield job.begun
            order.stages.append(
                StageRecord(number, stage.key, estimate, task.wait, job.person, job.begin, touch_up=touch_up)
            )
            yield job.done
        else:
            now = int(self.env.now)
            order.stages.append(StageRecord(number, stage.key, 0, task.wait, None, now, now, 0))
        if task.wait:
            yield self.env.timeout(task.wait)
        if estimate and stage.rack:
            self.places[stage.rack] += 1
            self._tell()

    def _recorded(self, order: _Order, at: int, job: _Job) -> None:
        order.stages[at] = replace(order.stages[at], end=int(self.env.now), work=job.minutes)

    def _tell(self) -> None:
        news, self.news = self.news, self.env.event()
        news.succeed()

    def _works(self, person: Person) -> Generator[simpy.Event, None, None]:
        for day in range(self.days + 200):
            if day in self.out[person.key] or EPOCH + timedelta(days=day) in self.shop.closed:
                continue
            for opens, closes in person.week[day % 7]:
                start, end = day * MINUTES_A_DAY + opens, day * MINUTES_A_DAY + closes
                if self.env.now >= end:
                    continue
                if self.env.now < start:
                    yield self.env.timeout(start - self.env.now)
                while self.env.now < end:
                    job = self._choose(person, day)
                    if job is None:
                        yield self.env.any_of([self.news, self.env.timeout(end - self.env.now)])
                        continue
                    yield from self._do(person, job)

    def _choose(self, person: Person, day: int) -> _Job | None:
        able = [
            j
            for j in self.jobs
            if j.stage.skill in person.skills
            and (
                j.stage.machine is None
                or (j.stage.machine in self.idle and day not in self.down[j.stage.machine])
            )
            and (j.stage.rack is None or self.places[j.stage.rack] > 0)
        ]
        return min(able, key=lambda j: j.rank, default=None)

    def _do(self, person: Person, job: _Job) -> Generator[simpy.Event, None, None]:
        self.jobs.remove(job)
        if job.stage.machine:
            self.idle.discard(job.stage.machine)
        if job.stage.rack:
            self.places[job.stage.rack] -= 1
        job.person, job.begin = person.key, int(self.env.now)
        job.begun.succeed()
        yield self.env.timeout(self._end(person, job) - self.env.now)
        if job.stage.machine:
            self.idle.add(job.stage.machine)
        job.done.succeed()
        self._tell()
        # the piece is put down where it goes next before anybody, its maker too, looks for other work
        yield self.env.timeout(0)

    def _end(self, person: Person, job: _Job) -> int:
        """When the work ends: it rests at night, while the person is sick and while the machine is broken."""
        left, day = job.minutes, int(self.env.now) // MINUTES_A_DAY
        while True:
            broken = job.stage.machine is not None and day in self.down[job.stage.machine]
            if (
                not broken
                and day not in self.out[person.key]
                and EPOCH + timedelta(days=day) not in self.shop.closed
            ):
                for opens, closes in person.week[day % 7]:
                    begin = max(int(self.env.now), day * MINUTES_A_DAY + opens)
                    there = day * MINUTES_A_DAY + closes - begin
                    if 0 < left <= there:
                        return begin + left
                    left -= max(there, 0)
            day += 1
