"""Probe orders: what a newcomer of a few sizes would get, simulated once per plan version, off the web process."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import product
from math import ceil

import numpy as np

from quoting.leadtime.calendar import Calendar, round_up
from quoting.leadtime.calibration import Calibration
from quoting.leadtime.engine import Ints
from quoting.leadtime.forecast import forecast, plan_version, quantile
from quoting.leadtime.load import overloaded
from quoting.leadtime.outlook import Forecast, Outlook, Probe
from quoting.leadtime.promise import WORDS
from quoting.leadtime.queue import OuterWait, QueuedOrder, Task
from quoting.leadtime.shop import MINUTES_A_DAY, Shop

SIZES = (0.5, 1.0, 2.0)  # of the typical route's work
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
    probes = tuple(
        probe(
            shop,
            orders,
            calibration,
            now_minute,
            scaled(typical, size),
            tuple(typical),
            klass,
            timber,
            futures,
            seed,
        )
        for klass, timber, size in product((1, 0), (False, True), SIZES)
    )
    return Outlook(
        version=plan_version(shop, orders, calibration, now_minute),
        as_of=calendar.instant(now_minute),
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
    timber = WORDS["timber"] in waits_on
    first = probe_order(work, 0 if rush else 1, timber, now_minute)
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
    minutes = promise_minutes(last, now_minute, calibration)
    today = calendar.day(now_minute)
    days = calendar.working_days(today, LISTED_DAYS)
    p50, p80, p95 = (round_up(calendar.day(m), today, days) for m in minutes)
    customer = customer_days(calibration, first.waits)
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
        as_of=calendar.instant(now_minute),
        plan_version=plan_version(shop, orders, calibration, now_minute),
        exact=True,
    )


def scaled(route: Sequence[Task], size: float) -> tuple[Task, ...]:
    """The route with its work times `size`; waits are what they are."""
    return tuple(Task(t.stage, round(t.work * size), t.wait) for t in route)


def probe(
    shop: Shop,
    orders: Sequence[QueuedOrder],
    calibration: Calibration,
    now_minute: int,
    route: tuple[Task, ...],
    typical: tuple[Task, ...],
    klass: int,
    timber: bool,
    futures: int,
    seed: int,
) -> Probe:
    """One newcomer simulated in the whole queue; the run stops when it is done."""
    newcomer = probe_order(route, klass, timber, now_minute)
    done = forecast(
        shop,
        (*orders, newcomer),
        calibration,
        now_minute=now_minute,
        futures=futures,
        seed=seed,
        typical=typical,
        until_done=frozenset({PROBE_KEY}),
    ).of(PROBE_KEY)
    calendar = Calendar(shop)
    p50, p80, p95 = promise_minutes(done, now_minute, calibration)
    customer = customer_days(calibration, newcomer.waits)
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
    )


def probe_order(route: tuple[Task, ...], klass: int, timber: bool, now_minute: int) -> QueuedOrder:
    """A newcomer that waits on deposit and drawing, on its mock-up before varnish, and on timber if told so."""
    waits = [OuterWait("deposit", "customer"), OuterWait("drawing", "customer")]
    if any(t.stage == "varnish" for t in route):
        waits.append(OuterWait("mock-up", "customer", before_stage="varnish"))
    if timber:
        waits.append(OuterWait("timber", "supplier"))
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


def customer_days(calibration: Calibration, waits: Sequence[OuterWait]) -> int:
    """Usual whole days before the first task that are the customer's: the longest of the waits that run together."""
    usual = [
        calibration.wait(w.kind).median_days for w in waits if w.owner == "customer" and not w.before_stage
    ]
    return ceil(max(usual, default=0.0))
