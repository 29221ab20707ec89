"""How well past quotes kept what they said: of those that said 80 %, how many were ready by then, and how sure that is."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import sqrt
from statistics import NormalDist

from django.utils import timezone

from orders.models import Order

LEVELS = ((0.5, "likely_by"), (0.8, "plan_on"), (0.95, "nineteen_in_twenty"))
"""What each date of a quote says, and its name in the stored forecast."""
CONFIDENCE = 0.95
MOST_QUOTES = 400
YEAR = timedelta(days=365)


@dataclass(frozen=True, slots=True)
class Said:
    """One accepted quote: when it was sent, the three days it said, and the day the order was ready, if it is."""

    sent: date
    days: tuple[date, date, date]
    ready: date | None


@dataclass(frozen=True, slots=True)
class Kept:
    """Of `count` quotes whose day has come, `kept` were ready by it; the true share lies in [low, high] at 95 %."""

    level: float
    count: int
    kept: int
    low: float
    high: float

    @property
    def share(self) -> float | None:
        return self.kept / self.count if self.count else None

    @property
    def verdict(self) -> str:
        """Whether the record speaks against what was said: "too early", "too late" (kept more than said), or ""."""
        if self.count == 0 or self.low <= self.level <= self.high:
            return ""
        return "too early" if self.high < self.level else "too late"


def wilson(kept: int, count: int, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """The score interval of a share (E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209); (0, 1) without any counted."""
    if count == 0:
        return 0.0, 1.0
    z = NormalDist().inv_cdf(0.5 + confidence / 2)
    share = kept / count
    middle = (share + z * z / (2 * count)) / (1 + z * z / count)
    half = z / (1 + z * z / count) * sqrt(share * (1 - share) / count + z * z / (4 * count * count))
    return max(0.0, middle - half), min(1.0, middle + half)


def said_so_far() -> list[Said]:
    """The newest accepted quotes that gave a date, orders cancelled or held left out; one query."""
    rows = (
        Order.objects.exclude(state__in=[Order.State.CANCELLED, Order.State.HELD])
        .exclude(quote__issued_at=None)
        .order_by("-quote__issued_at")
        .values_list("quote__issued_at", "quote__results__forecast", "ready_at")[:MOST_QUOTES]
    )
    return [
        Said(
            timezone.localdate(sent),
            (
                date.fromisoformat(forecast["likely_by"]),
                date.fromisoformat(forecast["plan_on"]),
                date.fromisoformat(forecast["nineteen_in_twenty"]),
            ),
            timezone.localdate(ready) if ready else None,
        )
        for sent, forecast, ready in rows
        if forecast
    ]


def kept_of(said: Iterable[Said], today: date) -> tuple[Kept, ...]:
    """The record at each level. A quote counts once its day has come, ready or not: early finishers do not count before."""
    rows = list(said)
    found = []
    for n, (level, _name) in enumerate(LEVELS):
        come = [row for row in rows if row.days[n] < today]
        kept = sum(row.ready is not None and row.ready <= row.days[n] for row in come)
        found.append(Kept(level, len(come), kept, *wilson(kept, len(come))))
    return tuple(found)


def by_year(said: Sequence[Said], today: date) -> list[tuple[str, tuple[Kept, ...]]]:
    """The record of all, of quotes sent in the last year, and of those before."""
    recent = [row for row in said if row.sent > today - YEAR]
    before = [row for row in said if row.sent <= today - YEAR]
    return [
        (name, kept_of(rows, today))
        for name, rows in (("all", said), ("sent in the last year", recent), ("sent before", before))
    ]
