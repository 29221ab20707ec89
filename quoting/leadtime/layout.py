"""Lays shop and orders out as flat arrays for the engine: queues, ranks, gates, the unrolled rework loop."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import takewhile
from math import sqrt
from typing import Any

import numpy as np
import numpy.typing as npt

from quoting.leadtime.calendar import ShopProblem
from quoting.leadtime.calibration import Calibration
from quoting.leadtime.engine import Floats, Ints, Layout
from quoting.leadtime.queue import OuterWait, QueuedOrder, Task
from quoting.leadtime.shop import MINUTES_A_DAY, Machine, Shop, StageType

RANK_STEP = 1 << 20  # room between two real orders for expected rush orders
LAST_RANK = 1 << 41
WAIT_KINDS = ("deposit", "drawing", "mock-up", "timber")
ORDER_SLOT, PASSES_SLOT, FIRST_WAIT_SLOT = 0, 1, 2
FIRST_STAGE_SLOT = FIRST_WAIT_SLOT + len(WAIT_KINDS) + 1
LOOP_SLOTS = 8
REPEAT_SLOTS = 4  # for each further time a chain visits the same stage
COLUMNS = (
    "work",
    "mean",
    "slot",
    "stage",
    "pass_number",
    "running",
    "source",
)  # of a problem, one value a task
MOST_UNITS = 62  # people, and machines: one bit each


@dataclass(frozen=True, slots=True)
class Gate:
    """A task that may not start before a minute, or before waits on the outside have ended."""

    order: int
    not_before: int
    waits: tuple[OuterWait, ...]


@dataclass(frozen=True, slots=True)
class Begun:
    """A task with work already on it: its place among the tasks and the minutes done."""

    task: int
    done: int


@dataclass(frozen=True, slots=True)
class Problem:
    """The engine's layout with all that is needed to draw its durations. Minutes count from `base`, a Monday.

    Per task [T]: `work` minutes, `mean` of the log duration (`spread` about it), `slot` of its random number, `stage`,
    `order`, `pass_number`, `running` (column of the remaining times or -1), `source` (index into the order's
    own tasks, -1 for unrolled ones). `rows` names the P people and K machine units that days out are kept for.
    """

    layout: Layout
    base: int
    keys: tuple[int, ...]
    persons: tuple[str, ...]
    rows: tuple[str, ...]
    work: Floats
    mean: Floats
    spread: float
    slot: Ints
    stage: Ints
    order: Ints
    order_spread: Floats
    pass_number: Ints
    running: Ints
    source: Ints
    gates: tuple[Gate, ...]
    begun: tuple[Begun, ...]
    stage_spread: Floats
    slots: int
    leading_rush: int


def machine_units(shop: Shop) -> tuple[Machine, ...]:
    """Every single machine, those that stand side by side one after the other."""
    return tuple(m for m in shop.machines for _ in range(m.count))


def rank_key(order: QueuedOrder) -> tuple[float, float, float, float, float]:
    """Who goes first: unranked rush orders, then the plan's ranks, then class, promise and arrival."""
    if order.rank is not None:
        return (1, order.rank, order.klass, 0, order.key)
    due = float("inf") if order.due is None else order.due
    return (0 if order.klass == 0 else 2, order.klass, due, order.arrived, order.key)


class _Rows:
    """Grows the per-task columns while orders are laid out."""

    def __init__(self, shop: Shop, calibration: Calibration, now: int, base: int) -> None:
        self.calibration, self.now, self.base = calibration, now, base
        order = sorted(range(len(shop.persons)), key=lambda i: (len(shop.persons[i].skills), i))
        self.people = [shop.persons[i] for i in order]
        self.person_index = {p.key: i for i, p in enumerate(self.people)}
        self.stage_index = {s.key: i for i, s in enumerate(shop.stages)}
        self.stages = shop.stages
        self.units = machine_units(shop)
        self.rack_index = {r.key: i for i, r in enumerate(shop.racks)}
        self.skilled = [self._mask(s) for s in shop.stages]
        self.machines = [
            sum(1 << i for i, m in enumerate(self.units) if m.key == s.machine) for s in shop.stages
        ]
        self.racks = [-1 if s.rack is None else self.rack_index[s.rack] for s in shop.stages]
        self.ratios = [calibration.ratio(s.key) for s in shop.stages]
        self.task_spread = sqrt(calibration.task_variance)
        self.queues: dict[tuple[int, int, int], int] = {}  # people mask, machine mask, rack
        self.columns: list[
            tuple[int, ...]
        ] = []  # queue, wait, gate, stage, slot, order, pass, running, source
        self.work: list[float] = []
        self.first = [0]
        self.gates: list[Gate] = []
        self.begun: list[Begun] = []
        self.places: list[tuple[int, int]] = []
        self.slots = FIRST_STAGE_SLOT + len(shop.stages) + LOOP_SLOTS

    def _mask(self, stage: StageType) -> int:
        return sum(1 << i for i, p in enumerate(self.people) if stage.skill and stage.skill in p.skills)

    def _queue(self, stage: int, person: str | None, *, nobody: bool) -> int:
        kind = self.stages[stage]
        at = self.person_index.get(person, -1) if person is not None else -1
        people = 0 if nobody else 1 << at if at >= 0 else self.skilled[stage]
        if not people and not nobody:
            raise ShopProblem(f"nobody has the skill “{kind.skill}” that “{kind.name}” needs")
        idle = nobody and bool(kind.skill)  # nothing but a wait: it needs the rack alone
        machine = 0 if idle else self.machines[stage]
        return self.queues.setdefault((people, machine, self.racks[stage]), len(self.queues))

    def add(self, number: int, order: QueuedOrder) -> None:
        """Append one order's chain."""
        seen: dict[int, int] = {}
        later = [0] * len(order.tasks)
        for j in range(len(order.tasks) - 1, -1, -1):
            stage = self._stage(order, order.tasks[j])
            later[j] = seen.get(stage, 0)
            seen[stage] = later[j] + 1
        opening = tuple(w for w in order.waits if w.before_stage is None)
        pending = [w for w in order.waits if w.before_stage is not None]
        for j, task in enumerate(order.tasks):
            mine = [w for w in pending if w.before_stage == task.stage]
            pending = [w for w in pending if w.before_stage != task.stage]
            waits = (*(opening if j == 0 and task.started is None else ()), *mine)
            self._task(number, j, task, later[j], waits)
        self.first.append(len(self.work))

    def _stage(self, order: QueuedOrder, task: Task) -> int:
        if task.stage not in self.stage_index:
            raise ShopProblem(f"{order.name}: the shop has no stage called “{task.stage}”")
        return self.stage_index[task.stage]

    def _task(self, number: int, j: int, task: Task, later: int, waits: tuple[OuterWait, ...]) -> None:
        stage = self.stage_index[task.stage]
        gate = running = -1
        if waits or task.not_before is not None:
            gate = len(self.gates)
            self.gates.append(Gate(number, (task.not_before or 0) - self.base, waits))
        if task.started is not None or task.done > 0:
            running = len(self.begun)
            self.begun.append(Begun(len(self.work), task.done))
        if task.started is not None:
            self.places.append((-task.started, number))
        person = (
            task.person
            if task.started is not None and task.person in self.person_index
            else task.locked_person
        )
        nobody = task.work == 0 or not self.stages[stage].skill
        slot = FIRST_STAGE_SLOT + stage
        if later:
            slot = (
                FIRST_STAGE_SLOT
                + len(self.stages)
                + LOOP_SLOTS
                + (later - 1) * REPEAT_SLOTS
                + stage % REPEAT_SLOTS
            )
            self.slots = max(self.slots, slot + 1)
        queue = self._queue(stage, person, nobody=nobody)
        self._row(queue, task.work, task.wait, gate, stage, slot, number, 0, running, j)
        loop = self.calibration.rework
        if task.stage == loop.stage and task.work > 0:
            self._unroll(number, task, stage)

    def _unroll(self, number: int, task: Task, stage: int) -> None:
        loop = self.calibration.rework
        touch = self.stage_index.get(loop.touch_stage)
        slot = FIRST_STAGE_SLOT + len(self.stages)
        for again in range(1, loop.most + 1):
            if touch is not None:
                queue = self._queue(touch, None, nobody=False)
                self._row(queue, task.work * loop.touch_share, 0, -1, touch, slot, number, again, -1, -1)
            queue = self._queue(stage, task.locked_person, nobody=False)
            self._row(
                queue, task.work * loop.pass_share, task.wait, -1, stage, slot + 1, number, again, -1, -1
            )
            slot += 2

    def _row(self, queue: int, work: float, *rest: int) -> None:
        self.columns.append((queue, *rest))
        self.work.append(work)


def lay_out(shop: Shop, orders: Sequence[QueuedOrder], calibration: Calibration, now: int) -> Problem:
    """The problem of these orders alone, from minute `now`. Raises ShopProblem for what has no place in the shop."""
    if max(len(shop.persons), len(machine_units(shop))) > MOST_UNITS:
        raise ShopProblem(f"more than {MOST_UNITS} people or machines are more than the queue can hold")
    base = now // MINUTES_A_DAY // 7 * 7 * MINUTES_A_DAY
    rows = _Rows(shop, calibration, now, base)
    for number, order in enumerate(orders):
        rows.add(number, order)
    columns = np.array(rows.columns, dtype=np.int64).reshape(-1, 9)
    queue, wait, gate, stage, slot, order_of, pass_number, running, source = (
        np.ascontiguousarray(columns[:, i]) for i in range(9)
    )
    place = np.empty(len(orders), np.int64)
    ranked = sorted(range(len(orders)), key=lambda n: rank_key(orders[n]))
    for i, number in enumerate(ranked):
        place[number] = (i + 1) * RANK_STEP
    shifts, count = _shifts(rows)
    layout = Layout(
        shifts=shifts,
        shift_count=count,
        round_the_clock=0,
        **_queues(rows),
        capacity=np.array([r.capacity for r in shop.racks] or [0], np.int64),
        first=np.array(rows.first, np.int64),
        queue=queue,
        wait=wait,
        gate=gate,
        rank=place[order_of] if len(order_of) else np.empty(0, np.int64),
        turn=np.full(len(order_of), -1, np.int64),
        strict=0,
        enters=np.array([not o.held for o in orders], np.int64),
        counted=np.ones(len(orders), np.int64),
        begun=np.array([n for _, n in sorted(rows.places)], np.int64),
    )
    ratio = np.array([r.log_ratio for r in rows.ratios] or [0.0])
    return Problem(
        layout=layout,
        base=base,
        keys=tuple(o.key for o in orders),
        persons=tuple(p.key for p in rows.people),
        rows=(*(p.key for p in rows.people), *(m.key for m in rows.units)),
        work=np.array(rows.work, np.float64),
        mean=ratio[stage],
        spread=rows.task_spread,
        slot=slot,
        stage=stage,
        order=order_of,
        order_spread=np.full(len(orders), sqrt(calibration.order_variance)),
        pass_number=pass_number,
        running=running,
        source=source,
        gates=tuple(rows.gates),
        begun=tuple(rows.begun),
        stage_spread=np.array([sqrt(r.variance) for r in rows.ratios] or [0.0]),
        slots=rows.slots,
        leading_rush=sum(1 for _ in takewhile(lambda n: orders[n].klass == 0, ranked)),
    )


def tiled(one: Problem, keys: Sequence[int]) -> Problem:
    """The problem of many orders that are all alike, laid out once: `one` holds a single order, not begun."""
    count, tasks, gates = len(keys), len(one.work), len(one.gates)
    lay = one.layout
    copy = np.repeat(np.arange(count), tasks)
    many: dict[str, Any] = {
        name: np.tile(getattr(lay, name), count) for name in ("queue", "wait", "rank", "turn")
    }
    gate = np.tile(lay.gate, count)
    columns: dict[str, Any] = {name: np.tile(getattr(one, name), count) for name in COLUMNS}
    return replace(
        one,
        layout=lay._replace(
            **many,
            first=np.arange(count + 1) * tasks,
            gate=np.where(gate >= 0, gate + copy * gates, -1),
            enters=np.ones(count, np.int64),
            counted=np.ones(count, np.int64),
        ),
        keys=tuple(keys),
        order=copy,
        order_spread=np.repeat(one.order_spread, count),
        gates=tuple(replace(g, order=n) for n in range(count) for g in one.gates),
        **columns,
    )


def join(real: Problem, expected: Problem, *, rush: int) -> Problem:
    """The real orders with expected ones behind them, of which the first `rush` go ahead of all ordinary work."""
    n = len(real.keys)
    a, b = real.layout, expected.layout
    tasks, gates = len(real.work), len(real.gates)
    shared = {q: i for i, q in enumerate(_queue_rows(a))}
    moved = np.array([shared.setdefault(q, len(shared)) for q in _queue_rows(b)], np.int64)
    table = np.array(list(shared), np.int64).reshape(-1, 3)
    number = np.arange(len(expected.keys))
    ranks = np.where(number < rush, real.leading_rush * RANK_STEP + 1 + number, LAST_RANK + number)
    layout = a._replace(
        queue_people=np.ascontiguousarray(table[:, 0]),
        queue_machines=np.ascontiguousarray(table[:, 1]),
        queue_rack=np.ascontiguousarray(table[:, 2]),
        first=np.concatenate([a.first, b.first[1:] + tasks]),
        queue=np.concatenate([a.queue, moved[b.queue]]),
        wait=np.concatenate([a.wait, b.wait]),
        gate=np.concatenate([a.gate, np.where(b.gate >= 0, b.gate + gates, -1)]),
        rank=np.concatenate([a.rank, ranks[expected.order]]),
        turn=np.concatenate([a.turn, b.turn]),
        enters=np.concatenate([a.enters, b.enters]),
        counted=np.concatenate([a.counted, np.zeros(len(expected.keys), np.int64)]),
    )
    return replace(
        real,
        layout=layout,
        keys=real.keys + expected.keys,
        work=np.concatenate([real.work, expected.work]),
        mean=np.concatenate([real.mean, expected.mean]),
        slot=np.concatenate([real.slot, expected.slot]),
        stage=np.concatenate([real.stage, expected.stage]),
        order_spread=np.concatenate([real.order_spread, expected.order_spread]),
        pass_number=np.concatenate([real.pass_number, expected.pass_number]),
        running=np.concatenate([real.running, expected.running]),
        source=np.concatenate([real.source, expected.source]),
        order=np.concatenate([real.order, expected.order + n]),
        gates=real.gates + tuple(replace(g, order=g.order + n) for g in expected.gates),
        slots=max(real.slots, expected.slots),
    )


def with_single_hands(layout: Layout, persons: int) -> tuple[Layout, Ints]:
    """(the layout with further queues, [Q, P] the queue that holds the same work for one person alone, or -1)."""
    rows = _queue_rows(layout)
    table = {row: i for i, row in enumerate(rows)}
    choices = np.full((len(rows), persons), -1, np.int64)
    for q, (mask, units, place) in enumerate(rows):
        able = [p for p in range(persons) if mask >> p & 1]
        for p in able if len(able) > 1 else []:
            choices[q, p] = table.setdefault((1 << p, units, place), len(table))
    people, machines, rack = np.array(list(table), np.int64).reshape(-1, 3).T.copy()
    return layout._replace(queue_people=people, queue_machines=machines, queue_rack=rack), choices


def closed_days(shop: Shop, problem: Problem, days: int) -> npt.NDArray[np.uint8]:
    """[P + K, days] from the problem's base: 1 where the person is away, the shop closed or the machine out of use."""
    units = machine_units(shop)
    out = np.zeros((len(shop.persons) + len(units), days), np.uint8)
    first = shop.epoch.toordinal() + problem.base // MINUTES_A_DAY
    by_key = {p.key: p for p in shop.persons}
    away = [by_key[key].away | shop.closed for key in problem.persons]
    for row, dates in enumerate([*away, *(m.out_of_use for m in units)]):
        for day in dates:
            if 0 <= day.toordinal() - first < days:
                out[row, day.toordinal() - first] = 1
    return out


def _queue_rows(layout: Layout) -> list[tuple[int, int, int]]:
    return list(
        zip(
            layout.queue_people.tolist(),
            layout.queue_machines.tolist(),
            layout.queue_rack.tolist(),
            strict=True,
        )
    )


def _queues(rows: _Rows) -> dict[str, Ints]:
    table = np.array(list(rows.queues) or [(0, 0, -1)], np.int64)
    names = ("queue_people", "queue_machines", "queue_rack")
    return {name: np.ascontiguousarray(table[:, i]) for i, name in enumerate(names)}


def _shifts(rows: _Rows) -> tuple[Ints, Ints]:
    most = max((len(day) for p in rows.people for day in p.week), default=1) or 1
    shifts = np.zeros((max(len(rows.people), 0), 7, most, 2), np.int64)
    count = np.zeros((len(rows.people), 7), np.int64)
    for i, person in enumerate(rows.people):
        for weekday, day in enumerate(person.week):
            count[i, weekday] = len(day)
            for j, interval in enumerate(sorted(day)):
                shifts[i, weekday, j] = interval
    return shifts, count
