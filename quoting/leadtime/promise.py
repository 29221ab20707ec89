"""The date an estimate shows: looked up among the plan's probe orders, in plain Python and without simulation."""

from bisect import bisect_left
from collections.abc import Sequence
from datetime import date, timedelta
from math import ceil

from quoting.leadtime.calendar import round_up
from quoting.leadtime.outlook import Forecast, Outlook, Probe

WORDS = {
    "deposit": "your deposit",
    "drawing": "your approval of the drawing",
    "mock-up": "your approval of the mock-up, before varnish",
    "timber": "timber from the supplier",
}


def forecast_for(
    outlook: Outlook,
    minutes: int,
    *,
    waits_on: Sequence[str] = ("deposit", "drawing", "mock-up"),
    rush: bool = False,
) -> Forecast:
    """Likely by, plan on and 19 in 20 by, for a newcomer of `minutes` of work.

    Dates are interpolated between the probes' sizes, never outside them downwards and in proportion upwards,
    and rounded up to a working day (a week's last when far). `waits_on` are kinds of wait, told in words.
    Raises ValueError when the outlook holds no probes.
    """
    klass = 0 if rush else 1
    timber = "timber" in waits_on
    probes = sorted(
        (p for p in outlook.probes if p.klass == klass and p.timber == timber), key=lambda p: p.work
    )
    if not probes:
        raise ValueError("the outlook holds no probe orders: make a plan first")
    today = outlook.working_days[0] if outlook.working_days else outlook.as_of.date()
    low, high, share = _between(probes, minutes)
    p50, p80, p95 = (
        round_up(_mix(a, b, share), today, _from(outlook.working_days, a))
        for a, b in ((low.p50, high.p50), (low.p80, high.p80), (low.p95, high.p95))
    )
    return Forecast(
        likely_by=p50,
        plan_on=max(p50, p80),
        nineteen_in_twenty=max(p50, p80, p95),
        ahead=outlook.ahead,
        waits_on=tuple(WORDS.get(kind, kind) for kind in waits_on),
        customer_days=low.customer_days,
        shop_days=max(0, ceil(low.shop_days + share * (high.shop_days - low.shop_days))),
        early=outlook.early,
        overloaded=outlook.overloaded,
        as_of=outlook.as_of,
        plan_version=outlook.version,
    )


def _between(probes: Sequence[Probe], minutes: int) -> tuple[Probe, Probe, float]:
    """The neighbouring probes and where between them (past 1: beyond the largest) the work lies."""
    if len(probes) == 1 or minutes <= probes[0].work:
        return probes[0], probes[0], 0.0
    at = min(bisect_left([p.work for p in probes], minutes), len(probes) - 1)
    low, high = probes[at - 1], probes[at]
    return low, high, (minutes - low.work) / max(high.work - low.work, 1)


def _mix(low: date, high: date, share: float) -> date:
    """The date `share` of the way, rounded up to a day, never before the earlier size's."""
    return low + timedelta(days=max(0, ceil((high - low).days * share)))


def _from(working_days: Sequence[date], day: date) -> Sequence[date]:
    """The working days from a week before `day` on: the rest need not be searched."""
    return working_days[max(0, bisect_left(working_days, day) - 7) :]
