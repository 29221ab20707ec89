"""What is wrong with a shop or its queue, in words that name the cause and the page that can mend it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from quoting.leadtime.calendar import Calendar, ShopProblem
from quoting.leadtime.queue import QueuedOrder
from quoting.leadtime.shop import MINUTES_A_DAY, Shop

MOST_ORDERS = 2_000  # a forecast of more takes minutes and says nothing a small shop can use
FAR_DAYS = 730  # out of use for two years is out of use for good
LONG_CLOSURE_DAYS = 60


@dataclass(frozen=True, slots=True)
class Trouble:
    """One thing wrong. `page` is "people", "machines", "racks", "stages", "closures" or "orders"; `key` what there.

    `fatal` trouble makes a forecast impossible; the rest is worth saying.
    """

    page: str
    key: str
    message: str
    fatal: bool = True


def check(shop: Shop, orders: Sequence[QueuedOrder], now_minute: int) -> tuple[Trouble, ...]:
    """All troubles of the shop and its queue from minute `now_minute` on, gravest first."""
    found = [
        *_people(shop),
        *_machines(shop, now_minute),
        *_stages(shop, orders),
        *_closures(shop, now_minute),
    ]
    found += _orders(shop, orders, now_minute)
    return tuple(sorted(found, key=lambda t: not t.fatal))


def require(shop: Shop, orders: Sequence[QueuedOrder], now_minute: int) -> None:
    """Raise ShopProblem with all fatal troubles in words, if there are any."""
    fatal = [t.message for t in check(shop, orders, now_minute) if t.fatal]
    if fatal:
        raise ShopProblem("; ".join(fatal[:5]) + (f"; and {len(fatal) - 5} more" if len(fatal) > 5 else ""))


def _people(shop: Shop) -> Iterator[Trouble]:
    if shop.epoch.weekday() != 0:
        yield Trouble("people", "", f"the shop's count of days must begin on a Monday, not {shop.epoch:%A}")
    for person in shop.persons:
        if not any(person.week):
            yield Trouble(
                "people",
                person.key,
                f"{person.name} has no working hours: enter some or take them off",
                False,
            )
        for day in person.week:
            ends = 0
            for opens, closes in sorted(day):
                if not (ends <= opens < closes <= MINUTES_A_DAY):
                    yield Trouble(
                        "people",
                        person.key,
                        f"{person.name}'s hours overlap or run past midnight: end each by 24:00",
                    )
                ends = closes
    if not any(day for p in shop.persons for day in p.week):
        yield Trouble("people", "", "nobody has working hours: enter weekly hours for at least one person")


def _machines(shop: Shop, now_minute: int) -> Iterator[Trouble]:
    today = Calendar(shop).day(now_minute)
    needed = {s.machine for s in shop.stages}
    for machine in shop.machines:
        ahead = sum(today <= day < today + timedelta(days=FAR_DAYS) for day in machine.out_of_use)
        if machine.key in needed and ahead >= FAR_DAYS:
            yield Trouble(
                "machines", machine.key, f"{machine.name} is out of use for good, and stages need it"
            )
    for rack in shop.racks:
        if rack.capacity < 1:
            yield Trouble("racks", rack.key, f"{rack.name} has no places: give it at least one")


def _stages(shop: Shop, orders: Sequence[QueuedOrder]) -> Iterator[Trouble]:
    used = {task.stage for order in orders for task in order.tasks}
    known = {s.key for s in shop.stages}
    machines, racks = {m.key for m in shop.machines}, {r.key for r in shop.racks}
    for stage in shop.stages:
        skilled = [p for p in shop.persons if stage.skill in p.skills]
        working = [p for p in skilled if any(p.week)]
        if stage.skill and not skilled:
            message = f"nobody can do “{stage.name}”: it needs the skill “{stage.skill}”"
            yield Trouble("stages", stage.key, message, stage.key in used)
        elif stage.skill and not working:
            names = " and ".join(p.name for p in skilled)
            message = (
                f"“{stage.name}” needs the skill “{stage.skill}”, and {names} with it have no working hours"
            )
            yield Trouble("people", skilled[0].key, message, stage.key in used)
        if stage.machine is not None and stage.machine not in machines:
            yield Trouble(
                "stages", stage.key, f"“{stage.name}” names a machine the shop has not: {stage.machine}"
            )
        if stage.rack is not None and stage.rack not in racks:
            yield Trouble("stages", stage.key, f"“{stage.name}” names a rack the shop has not: {stage.rack}")
    for stage_key in sorted(used - known):
        yield Trouble(
            "stages", stage_key, f"orders in the queue use “{stage_key}”, and the shop has no such stage"
        )


def _closures(shop: Shop, now_minute: int) -> Iterator[Trouble]:
    today = Calendar(shop).day(now_minute)
    for first, length in _runs(sorted(d for d in shop.closed if d >= today)):
        if length >= FAR_DAYS:
            yield Trouble("closures", first.isoformat(), f"the shop is closed for good from {first:%d %B %Y}")
        elif length >= LONG_CLOSURE_DAYS:
            last = first + timedelta(days=length - 1)
            message = (
                f"the shop is closed from {first:%d %B %Y} to {last:%d %B %Y}: every date moves behind it"
            )
            yield Trouble("closures", first.isoformat(), message, False)


def _runs(days: Sequence[date]) -> Iterator[tuple[date, int]]:
    """(first day, number of days) of each run of consecutive days."""
    begin = 0
    for i in range(1, len(days) + 1):
        if i == len(days) or (days[i] - days[i - 1]).days != 1:
            yield days[begin], i - begin
            begin = i


def _orders(shop: Shop, orders: Sequence[QueuedOrder], now_minute: int) -> Iterator[Trouble]:
    last = now_minute + FAR_DAYS * MINUTES_A_DAY
    if len(orders) > MOST_ORDERS:
        yield Trouble(
            "orders",
            "",
            f"{len(orders)} orders are in the queue, more than the {MOST_ORDERS} it can hold: close some",
        )
    hours = {p.key: any(p.week) for p in shop.persons}
    for order in orders:
        if not order.tasks:
            yield Trouble("orders", str(order.key), f"{order.name} has no stages left: close it", False)
        stages = [t.stage for t in order.tasks]
        for wait in order.waits:
            if wait.before_stage is not None and wait.before_stage not in stages:
                message = f"{order.name} waits on {wait.kind} before “{wait.before_stage}”, which is not ahead of it"
                yield Trouble("orders", str(order.key), message, False)
        for task in order.tasks:
            person = task.locked_person if task.started is None else None
            if person is not None and not hours.get(person, False):
                message = (
                    f"{order.name}: “{task.stage}” is fixed to {person}, who has no working hours or has left"
                )
                yield Trouble("orders", str(order.key), message)
            if task.not_before is not None and task.not_before > last:
                day = Calendar(shop).day(task.not_before)
                message = (
                    f"{order.name}: “{task.stage}” is fixed to begin on {day:%d %B %Y}: that is too far ahead"
                )
                yield Trouble("orders", str(order.key), message)
            if task.work < 0 or task.wait < 0 or task.done < 0:
                yield Trouble(
                    "orders", str(order.key), f"{order.name}: “{task.stage}” has minutes below nothing"
                )
    if len({o.key for o in orders}) != len(orders):
        yield Trouble("orders", "", "two orders in the queue carry the same key")
