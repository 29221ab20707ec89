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
    count: int = 1,
    waits_on: Sequence[str] = ("deposit", "drawing", "mock-up"),
    rush: bool = False,
) -> Forecast:
    """Likely by, plan on and 19 in 20 by, for `count` newcomers of `minutes` of work each; the last one's dates.

    Dates are interpolated between the probes' sizes, never outside them downwards and in proportion upwards,
    and rounded up to a working day (a week's last when far). Several newcomers take as many days longer than one
    as typical ones do, in proportion to their work. `waits_on` are kinds of wait, told in words.
    Raises ValueError when the outlook holds no probes.
    """
    klass = 0 if rush else 1
    timber = "timber" in waits_on
    several = _several(outlook) if count > 1 else []
    if count > 1 and not several:
        minutes *= count  # an outlook without such probes: as one of so much work, which is never sooner
    probes = sorted(
        (p for p in outlook.probes if (p.klass, p.timber, p.count) == (klass, timber, 1)),
        key=lambda p: p.work,
    )
    if not probes:
        raise ValueError("the outlook holds no probe orders: make a plan first")
    today = outlook.working_days[0] if outlook.working_days else outlook.as_of.date()
    low, high, share = _between(probes, minutes, [p.work for p in probes])
    longer = _longer(several, minutes, count) if several else (0, 0, 0)
    p50, p80, p95 = (
        round_up(_mix(a, b, share) + timedelta(days=more), today, _from(outlook.working_days, a))
        for a, b, more in zip(_dates(low), _dates(high), longer, strict=True)
    )
    return Forecast(
        likely_by=p50,
        plan_on=max(p50, p80),
        nineteen_in_twenty=max(p50, p80, p95),
        ahead=outlook.ahead,
        waits_on=tuple(WORDS.get(kind, kind) for kind in waits_on),
        customer_days=low.customer_days,
        shop_days=max(0, ceil(low.shop_days + share * (high.shop_days - low.shop_days)) + longer[0]),
        early=outlook.early,
        overloaded=outlook.overloaded,
        as_of=outlook.as_of,
        plan_version=outlook.version,
    )


def _several(outlook: Outlook) -> list[Probe]:
    """Probes of several propellers at once, with the single one of their work first; empty where there are none.

    Ordinary ones serve for rushed ones too: these take no more days longer.
    """
    more = sorted((p for p in outlook.probes if p.count > 1), key=lambda p: p.count)
    alone = [
        p
        for p in outlook.probes
        if more and (p.klass, p.timber, p.count, p.work) == (1, False, 1, more[0].work)
    ]
    return [*alone, *more] if alone else []


def _longer(several: Sequence[Probe], minutes: int, count: int) -> tuple[int, int, int]:
    """Days by which the last of `count` propellers comes after a single one, at 50, 80 and 95 %."""
    low, high, share = _between(several, count, [p.count for p in several])
    size = minutes / several[0].work
    p50, p80, p95 = (
        max(0, ceil((_mix(a, b, share) - one).days * size))
        for a, b, one in zip(_dates(low), _dates(high), _dates(several[0]), strict=True)
    )
    return p50, p80, p95


def _dates(probe: Probe) -> tuple[date, date, date]:
    return probe.p50, probe.p80, probe.p95


def _between(probes: Sequence[Probe], value: int, at: Sequence[int]) -> tuple[Probe, Probe, float]:
    """The neighbouring probes and where between them (past 1: beyond the largest) the value lies; `at` rises."""
    if len(probes) == 1 or value <= at[0]:
        return probes[0], probes[0], 0.0
    place = min(bisect_left(at, value), len(probes) - 1)
    return probes[place - 1], probes[place], (value - at[place - 1]) / max(at[place] - at[place - 1], 1)


def _mix(low: date, high: date, share: float) -> date:
    """The date `share` of the way, rounded up to a day, never before the earlier size's."""
    return low + timedelta(days=max(0, ceil((high - low).days * share)))


def _from(working_days: Sequence[date], day: date) -> Sequence[date]:
    """The working days from a week before `day` on: the rest need not be searched."""
    return working_days[max(0, bisect_left(working_days, day) - 7) :]
