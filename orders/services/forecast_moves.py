"""An order's forecast told in words: where it stands, what the clock waits on, how it moved and why."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext_lazy

from orders.models import Approval, ForecastHistory, Order, PaymentRequest
from quoting.leadtime.promise import WORDS

READ = 400
"""How many of the newest forecasts are read; a plan is made several times a day."""
SHOWN = 12
WORTH_TELLING = timedelta(days=1)
DESK, CUSTOMER = "desk", "customer"

CAUSES: dict[str, dict[str, Any]] = {
    "absences, closures or hours": {
        DESK: gettext_lazy("absences, closures or hours"),
        CUSTOMER: gettext_lazy("somebody at the bench is away, or the workshop's hours changed"),
    },
    "orders accepted since": {
        DESK: gettext_lazy("orders accepted since"),
        CUSTOMER: gettext_lazy("other work taken on since"),
    },
    "a change of rank": {
        DESK: gettext_lazy("a change of rank"),
        CUSTOMER: gettext_lazy("the workshop changed the order of its work"),
    },
    "what the order waits on": {
        DESK: gettext_lazy("what the order waits on"),
        CUSTOMER: gettext_lazy("the wait on a deposit or an approval"),
    },
    "work to be done again or added": {
        DESK: gettext_lazy("work to be done again or added"),
        CUSTOMER: gettext_lazy("work that had to be done again"),
    },
    "what the record has taught": {
        DESK: gettext_lazy("what the record has taught"),
        CUSTOMER: gettext_lazy("what the workshop has learnt of how long such work takes"),
    },
    "work slower than expected, here or ahead": {
        DESK: gettext_lazy("work slower than expected, here or ahead"),
        CUSTOMER: gettext_lazy("work on it, or ahead of it, took longer"),
    },
    "work faster than expected, here or ahead": {
        DESK: gettext_lazy("work faster than expected, here or ahead"),
        CUSTOMER: gettext_lazy("work on it, or ahead of it, was finished sooner"),
    },
}
"""The words of `quoting.leadtime.moves` for each reader; that file itself loads the simulation."""
WAITS: dict[str, dict[str, Any]] = {
    "deposit": {DESK: gettext_lazy("the deposit"), CUSTOMER: gettext_lazy("your deposit")},
    "drawing": {
        DESK: gettext_lazy("the customer's approval of the drawing"),
        CUSTOMER: gettext_lazy("your approval of the drawing"),
    },
    "mock-up": {
        DESK: gettext_lazy("the customer's approval of the mock-up, before varnish"),
        CUSTOMER: gettext_lazy("your approval of the mock-up, before varnish"),
    },
    "timber": {
        DESK: gettext_lazy("timber from the supplier"),
        CUSTOMER: gettext_lazy("timber from the supplier"),
    },
}
WAIT_OF = {told: kind for kind, told in WORDS.items()}
"""The kind of wait by the words in which a forecast tells it."""
CUSTOMERS_OWN = frozenset({"deposit", "drawing", "mock-up"})


def waits_for_desk(waits_on: Iterable[str]) -> list[str]:
    """What a forecast's clock waits on, in the workshop's words."""
    return [str(WAITS[WAIT_OF[told]][DESK]) if told in WAIT_OF else told for told in waits_on]


@dataclass(frozen=True, slots=True)
class Moved:
    """One forecast worth telling: its day, by how many days that moved since the last told one, and why."""

    at: datetime
    likely_by: date
    plan_on: date
    days: int
    causes: tuple[str, ...]

    @property
    def sooner(self) -> int:
        return -self.days


@dataclass(frozen=True, slots=True)
class Told:
    """Where the forecast stands. `customer_days` of the days to the likely one are usually the customer's own."""

    likely_by: date
    plan_on: date
    nineteen_in_twenty: date
    as_of: datetime
    waits: tuple[str, ...]
    days: int
    customer_days: int
    history: tuple[Moved, ...]

    @property
    def shop_days(self) -> int:
        return max(self.days - self.customer_days, 0)


def told_of(order: Order, reader: str = DESK) -> Told | None:
    """The forecast of an open order in a reader's words; None while there is none, or when the order is ready."""
    if not order.is_open or order.state == Order.State.READY:
        return None
    rows = list(
        order.forecasts.select_related("plan")
        .defer("plan__plan", "plan__snapshot")
        .order_by("-at", "-id")[:READ]
    )
    if not rows:
        return None
    newest = rows[0]
    days = max((newest.likely_by - timezone.localdate()).days, 0)
    waits = still_waits(order, newest.waits)
    return Told(
        newest.likely_by,
        newest.plan_on,
        newest.nineteen_in_twenty,
        newest.plan.as_of if newest.plan.current else newest.at,
        tuple(str(WAITS[kind][reader]) if kind in WAITS else kind for kind in waits),
        days,
        min(newest.customer_days, days) if set(waits) & CUSTOMERS_OWN else 0,
        moves(reversed(rows), reader)[:SHOWN],
    )


def still_waits(order: Order, kinds: list[str]) -> list[str]:
    """Of the waits a forecast counted those that have not ended since."""
    if not kinds:
        return []
    ended = {
        kind.value
        for kind in Approval.Kind
        if (last := order.approvals.filter(kind=kind).order_by("-revision").first())
        and last.state == Approval.State.APPROVED
    }
    deposit = order.payment_requests.filter(kind=PaymentRequest.Kind.DEPOSIT).first()
    if deposit is not None and deposit.is_settled:
        ended.add("deposit")
    return [kind for kind in kinds if kind not in ended]


def moves(rows: Iterable[ForecastHistory], reader: str = DESK) -> tuple[Moved, ...]:
    """Forecasts in turn of time told newest first: the first, and each that moved a day or more since the last told.

    The causes of what moved by less in between are counted in.
    """
    found = [
        Moved(row.at, row.likely_by, row.plan_on, days, _words(dict(causes), days, reader))
        for row, days, causes in told(rows)
    ]
    return tuple(reversed(found))


def told(rows: Iterable[ForecastHistory]) -> Iterator[tuple[ForecastHistory, int, list[list[Any]]]]:
    """Of forecasts in turn of time each worth telling, its move in days and the causes summed since the last told."""
    last: ForecastHistory | None = None
    causes: dict[str, float] = {}
    for row in rows:
        for cause, days in row.causes:
            causes[cause] = causes.get(cause, 0.0) + days
        moved = row.plan_on - last.plan_on if last else timedelta(0)
        if last is None or abs(moved) >= WORTH_TELLING:
            yield row, moved.days, [[cause, days] for cause, days in causes.items()]
            last, causes = row, {}


def _words(causes: dict[str, float], days: int, reader: str) -> tuple[str, ...]:
    """The causes that pushed the way the date went, weightiest first, in the reader's words."""
    along = [(abs(d), cause) for cause, d in causes.items() if d * days > 0]
    return tuple(str(CAUSES[c][reader]) if c in CAUSES else c for _, c in sorted(along, reverse=True))
