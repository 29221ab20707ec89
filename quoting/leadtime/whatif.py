"""What a decision does to everybody else, before anything is changed: two forecasts with the same random futures."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import ceil

import numpy as np

from quoting.leadtime.calibration import Calibration
from quoting.leadtime.forecast import Completions, forecast, quantile
from quoting.leadtime.probes import promise_minutes
from quoting.leadtime.queue import QueuedOrder, Task
from quoting.leadtime.shop import MINUTES_A_DAY, Shop

RUSH_CLASS = 0
LATE_NEWS = 0.10  # a change in the chance of being late worth telling


@dataclass(frozen=True, slots=True)
class Effect:
    """What happens to one order: chance of missing its stored promise and its 80 % minute, before and after.

    `moved_days` is the move of the 80 % point in whole days (0 for less than one), `mean_days` of the mean.
    """

    key: int
    name: str
    due: int | None
    late_before: float | None
    late_after: float | None
    p80_before: int
    p80_after: int
    moved_days: int
    mean_days: float

    @property
    def becomes_late(self) -> bool:
        """Whether a promise that would be kept in more than half of the futures no longer is."""
        return (
            self.late_before is not None
            and self.late_after is not None
            and self.late_before <= 0.5 < self.late_after
        )


@dataclass(frozen=True, slots=True)
class WhatIf:
    """The effects on all orders, most delayed first; the newcomer's own dates when one is accepted (of several, the last's).

    `order_days` is the sum of mean delays over the orders that are delayed: what a rush costs the others.
    """

    effects: tuple[Effect, ...]
    newcomer: tuple[int, int, int] | None
    delayed: int
    order_days: float

    @property
    def worth_telling(self) -> tuple[Effect, ...]:
        """Effects of a day or more, or that change the chance of being late by a tenth."""
        return tuple(
            e
            for e in self.effects
            if e.moved_days or abs((e.late_after or 0.0) - (e.late_before or 0.0)) >= LATE_NEWS
        )


def compare(
    before: tuple[Shop, Sequence[QueuedOrder]],
    after: tuple[Shop, Sequence[QueuedOrder]],
    calibration: Calibration,
    *,
    now_minute: int,
    typical: Sequence[Task] = (),
    futures: int = 1000,
    seed: int = 0,
    progress: Callable[[float], bool] | None = None,
) -> WhatIf:
    """The effect of going from one shop and queue to another.

    `progress` is told the share done and ends the comparison by returning False. Raises ShopProblem if either
    cannot be simulated, Stopped when told to end.
    """

    def run(state: tuple[Shop, Sequence[QueuedOrder]], begins: float) -> Completions:
        return forecast(
            *state,
            calibration,
            now_minute=now_minute,
            futures=futures,
            seed=seed,
            typical=typical,
            progress=(lambda share: progress(begins + share / 2)) if progress else None,
        )

    was, becomes = run(before, 0.0), run(after, 0.5)
    stays = [o for o in after[1] if not o.held and any(b.key == o.key and not b.held for b in before[1])]
    effects = sorted((_effect(o, was, becomes) for o in stays), key=lambda e: -e.mean_days)
    fresh = [o.key for o in after[1] if o.key not in was.keys]
    delayed = [e for e in effects if e.moved_days > 0]
    last = max(fresh, key=lambda key: becomes.quantile(key, 0.8), default=None)
    newcomer = None if last is None else promise_minutes(becomes.of(last), now_minute, calibration)
    return WhatIf(tuple(effects), newcomer, len(delayed), sum(max(e.mean_days, 0.0) for e in effects))


def _effect(order: QueuedOrder, was: Completions, becomes: Completions) -> Effect:
    old, new = was.of(order.key), becomes.of(order.key)
    before, after = quantile(old, 0.8), quantile(new, 0.8)
    days = (after - before) / MINUTES_A_DAY
    return Effect(
        key=order.key,
        name=order.name,
        due=order.due,
        late_before=None if order.due is None else float(np.mean(old > order.due)),
        late_after=None if order.due is None else float(np.mean(new > order.due)),
        p80_before=before,
        p80_after=after,
        moved_days=int(days),
        mean_days=float(new.mean() - old.mean()) / MINUTES_A_DAY,
    )


def accepted(orders: Sequence[QueuedOrder], newcomer: QueuedOrder) -> tuple[QueuedOrder, ...]:
    """The queue with one more order."""
    return (*orders, newcomer)


def rushed(orders: Sequence[QueuedOrder], key: int, *, before: int | None = None) -> tuple[QueuedOrder, ...]:
    """The queue with one order made a rush order, or ranked just before the order `before`."""
    if before is None:
        return tuple(replace(o, klass=RUSH_CLASS, rank=None) if o.key == key else o for o in orders)
    order = [o for o in orders if o.key != key]
    place = next(i for i, o in enumerate(order) if o.key == before)
    order.insert(place, next(o for o in orders if o.key == key))
    return tuple(replace(o, rank=float(i)) for i, o in enumerate(order))


def ranked(orders: Sequence[QueuedOrder], key: int, rank: float | None) -> tuple[QueuedOrder, ...]:
    """The queue with one order's place fixed at `rank` (lower goes first; it goes before all without a rank)."""
    return tuple(replace(o, rank=rank) if o.key == key else o for o in orders)


def held(orders: Sequence[QueuedOrder], key: int, *, on_hold: bool = True) -> tuple[QueuedOrder, ...]:
    """The queue with one order on hold, or off it again."""
    return tuple(replace(o, held=on_hold) if o.key == key else o for o in orders)


def without(orders: Sequence[QueuedOrder], key: int) -> tuple[QueuedOrder, ...]:
    """The queue with one order called off."""
    return tuple(o for o in orders if o.key != key)


def fixed(
    orders: Sequence[QueuedOrder],
    key: int,
    stage: str,
    *,
    person: str | None = None,
    not_before: int | None = None,
) -> tuple[QueuedOrder, ...]:
    """The queue with one order's stage fixed to a person, or to begin no earlier than a minute; None lifts either.

    Every visit to the stage that has not begun is fixed. Raises KeyError where the order has no such stage ahead.
    """
    order = {o.key: o for o in orders}[key]
    if stage not in {t.stage for t in order.tasks if t.started is None}:
        raise KeyError(stage)
    tasks = tuple(
        replace(t, locked_person=person, not_before=not_before)
        if t.stage == stage and t.started is None
        else t
        for t in order.tasks
    )
    return tuple(replace(o, tasks=tasks) if o.key == key else o for o in orders)


def closed(shop: Shop, days: Iterable[date]) -> Shop:
    """The shop closed on more days."""
    return replace(shop, closed=shop.closed | frozenset(days))


def away(shop: Shop, person: str, days: Iterable[date]) -> Shop:
    """The shop with a person away on more days."""
    more = frozenset(days)
    return replace(
        shop, persons=tuple(replace(p, away=p.away | more) if p.key == person else p for p in shop.persons)
    )


def with_machines(shop: Shop, machine: str, more: int = 1) -> Shop:
    """The shop with more machines of one kind side by side."""
    return replace(
        shop,
        machines=tuple(replace(m, count=m.count + more) if m.key == machine else m for m in shop.machines),
    )


def with_hours(
    shop: Shop, weekday: int, hours: tuple[tuple[int, int], ...], persons: Iterable[str] = ()
) -> Shop:
    """The shop with working hours on one more weekday (5 is Saturday), for the named persons or for all."""
    named = set(persons)

    def week(old: tuple[tuple[tuple[int, int], ...], ...]) -> tuple[tuple[tuple[int, int], ...], ...]:
        return tuple(hours if i == weekday else day for i, day in enumerate(old))

    return replace(
        shop,
        persons=tuple(
            replace(p, week=week(p.week)) if not named or p.key in named else p for p in shop.persons
        ),
    )


def rush_minor_units(effect: WhatIf, per_order_day: int) -> int:
    """The surcharge that pays the others' waiting: order-days at the price book's rate, rounded up, minor units."""
    return ceil(effect.order_days * per_order_day)
