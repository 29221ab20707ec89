"""Probe orders: what a newcomer of a few sizes would get, simulated once per plan version, off the web process."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import product
from math import ceil
from typing import Any

import numpy as np

from quoting.leadtime.calendar import Calendar, round_up
from quoting.leadtime.calibration import ACCEPTANCE, Calibration
from quoting.leadtime.engine import Ints
from quoting.leadtime.forecast import forecast, plan_version, quantile
from quoting.leadtime.load import overloaded
from quoting.leadtime.outlook import Forecast, Outlook, Probe
from quoting.leadtime.promise import WORDS
from quoting.leadtime.queue import OuterWait, QueuedOrder, Task
from quoting.leadtime.shop import MINUTES_A_DAY, Shop
from quoting.propeller.build import MOCK_UP_BEFORE

SIZES = (0.5, 1.0, 2.0)  # of the typical route's work
COUNTS = (3, 10, 30)  # typical ordinary propellers asked for together
LISTED_DAYS = 750
PROBE_KEY = 1 << 57


def outlook(
    shop: Shop,
    orders: Sequence[QueuedOrder],
    calibration: Calibration,
    *,
    now_minute: int,
    typical: Sequence[Task],
    futures: int = 500,
    seed: int = 0,
) -> Outlook:
    """What the present queue says to newcomers: ordinary and rush, with and without a wait on timber.

    `typical` is the ordinary propeller's route (stage, work, wait). Raises ShopProblem.
    """
    calendar = Calendar(shop)
    today = calendar.day(now_minute)
    wanted = [
        *((klass, timber, size, 1) for klass, timber, size in product((1, 0), (False, True), SIZES)),
        *((1, False, 1.0, count) for count in COUNTS),
    ]
    probes = tuple(
        _probe(
            shop,
            orders,
            calibration,
            scaled(typical, size),
            now_minute=now_minute,
            typical=typical,
            count=count,
            klass=klass,
            timber=timber,
            futures=futures,
            seed=seed,
        )
        for klass, timber, size, count in wanted
    )
    return Outlook(
        version=plan_version(shop, orders, calibration, now_minute),
        as_of=calendar.local(now_minute),
        ahead=sum(not o.held for o in orders),
        early=calibration.early,
        overloaded=overloaded(shop, typical, calibration),
        working_days=calendar.working_days(today, LISTED_DAYS),
        probes=probes,
    )


def exact(
    shop: Shop,
    orders: Sequence[QueuedOrder],
    calibration: Calibration,
    work: tuple[Task, ...],
    *,
    now_minute: int,
    typical: Sequence[Task],
    count: int = 1,
    rush: bool = False,
    waits_on: tuple[str, ...] = (),
    futures: int = 1000,
    seed: int = 0,
) -> Forecast:
    """The dates of `count` propellers of this very work, simulated in the whole queue; the last of them counts.

    `waits_on` is repeated as it is said. Raises ShopProblem.
    """
    calendar = Calendar(shop)
    last, customer = newcomers(
        shop,
        orders,
        calibration,
        work,
        now_minute=now_minute,
        typical=typical,
        count=count,
        klass=0 if rush else 1,
        timber=WORDS["timber"] in waits_on,
        futures=futures,
        seed=seed,
    )
    minutes = promise_minutes(last, now_minute, calibration)
    today = calendar.day(now_minute)
    days = calendar.working_days(today, LISTED_DAYS)
    p50, p80, p95 = (round_up(calendar.day(m), today, days) for m in minutes)
    return Forecast(
        likely_by=p50,
        plan_on=max(p50, p80),
        nineteen_in_twenty=max(p50, p80, p95),
        ahead=sum(not o.held for o in orders),
        waits_on=waits_on,
        customer_days=customer,
        shop_days=max(ceil((minutes[0] - now_minute) / MINUTES_A_DAY) - customer, 0),
        early=calibration.early,
        overloaded=overloaded(shop, typical, calibration),
        as_of=calendar.local(now_minute),
        plan_version=plan_version(shop, orders, calibration, now_minute),
        exact=True,
    )


def scaled(route: Sequence[Task], size: float) -> tuple[Task, ...]:
    """The route with its work times `size`; waits are what they are."""
    return tuple(Task(t.stage, round(t.work * size), t.wait) for t in route)


def newcomers(
    shop: Shop,
    orders: Sequence[QueuedOrder],
    calibration: Calibration,
    work: tuple[Task, ...],
    *,
    now_minute: int,
    typical: Sequence[Task],
    count: int,
    klass: int,
    timber: bool,
    futures: int,
    seed: int,
) -> tuple[Ints, int]:
    """(minute [M] at which the last of `count` newcomers is done, days that are usually the customer's).

    They are simulated in the whole queue; the run stops when they are done. Raises ShopProblem.
    """
    first = newcomer(work, klass, timber, now_minute, calibration)
    fresh = tuple(replace(first, key=PROBE_KEY + i) for i in range(count))
    done = forecast(
        shop,
        (*orders, *fresh),
        calibration,
        now_minute=now_minute,
        futures=futures,
        seed=seed,
        typical=typical,
        until_done=frozenset(o.key for o in fresh),
    )
    last = np.max([done.of(o.key) for o in fresh], axis=0)
    return last, customer_days(calibration, first.waits, now_minute)


def _probe(
    shop: Shop,
    orders: Sequence[QueuedOrder],
    calibration: Calibration,
    route: tuple[Task, ...],
    *,
    now_minute: int,
    count: int,
    klass: int,
    timber: bool,
    **run: Any,
) -> Probe:
    done, customer = newcomers(
        shop, orders, calibration, route,
        now_minute=now_minute, count=count, klass=klass, timber=timber, **run,
    )  # fmt: skip
    calendar = Calendar(shop)
    p50, p80, p95 = promise_minutes(done, now_minute, calibration)
    days = ceil((p50 - now_minute) / MINUTES_A_DAY)
    return Probe(
        klass,
        sum(t.work for t in route),
        calendar.day(p50),
        calendar.day(p80),
        calendar.day(p95),
        max(days - customer, 0),
        customer,
        timber,
        count,
    )


def newcomer(
    route: tuple[Task, ...], klass: int, timber: bool, now_minute: int, calibration: Calibration
) -> QueuedOrder:
    """An order quoted now: once accepted, after as many days as is usual, it waits on deposit and drawing, on its
    mock-up before varnish, and on timber if told so."""
    accepted = now_minute + ceil(calibration.wait(ACCEPTANCE).median_days * MINUTES_A_DAY)
    waits = [OuterWait("deposit", "customer", accepted), OuterWait("drawing", "customer", accepted)]
    if any(t.stage == MOCK_UP_BEFORE for t in route):
        waits.append(OuterWait("mock-up", "customer", accepted, before_stage=MOCK_UP_BEFORE))
    if timber:
        waits.append(OuterWait("timber", "supplier", accepted))
    return QueuedOrder(PROBE_KEY, "newcomer", now_minute, route, tuple(waits), klass=klass)


def promise_minutes(done: Ints, now: int, calibration: Calibration) -> tuple[int, int, int]:
    """The minutes of 50, 80 and 95 %; the calibration's widening stretches the lead of the latter two, upwards only."""
    p50, p80, p95 = unwidened_minutes(done, calibration)
    stretch = max(calibration.widening, 1.0)
    p80, p95 = (now + ceil((p - now) * stretch) for p in (p80, p95))
    return p50, max(p50, p80), max(p50, p80, p95)


def unwidened_minutes(done: Ints, calibration: Calibration) -> tuple[int, int, int]:
    """The minutes of 50, 80 and 95 % before widening, of the range so much as the calibration keeps."""
    p50, p80, p95 = (quantile(done, share) for share in (0.5, 0.8, 0.95))
    return p50, *(p50 + ceil((p - p50) * calibration.range_kept) for p in (p80, p95))  # type: ignore[return-value]


def customer_days(calibration: Calibration, waits: Sequence[OuterWait], now_minute: int) -> int:
    """Usual whole days before the first task that are the customer's: the longest of the waits that run together.

    A wait yet to begin counts from now on: until then too it is the customer's turn.
    """
    usual = [
        max(0, (w.since or 0) - now_minute) / MINUTES_A_DAY + calibration.wait(w.kind).median_days
        for w in waits
        if w.owner == "customer" and not w.before_stage
    ]
    return ceil(max(usual, default=0.0))
