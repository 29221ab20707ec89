"""The queue with one more propeller in its turn and going first, compared: what a rush costs the others.

Imports the simulation; only the worker imports this file.
"""

from typing import Any

from django.utils import timezone

from orders.models import RushCost
from orders.refusal import Refused
from orders.services import shop
from orders.services.knowledge import knowledge
from orders.services.quote import preview
from quoting.estimate import Estimate
from quoting.leadtime.calendar import Calendar, ShopProblem
from quoting.leadtime.queue import OuterWait, QueuedOrder, Task
from quoting.leadtime.whatif import accepted, compare, rush_minor_units, rushed
from quoting.pricing.money import Money
from quoting.services.pricebook import NoPriceBook, current_book

FUTURES = 400
KEY = -1
"""Stands for the propeller that is only asked for."""


def run(payload: dict[str, Any]) -> None:
    """Job: answer one question; done or failed it is left as it is."""
    row = RushCost.objects.select_related("enquiry").get(pk=payload["rush_cost"])
    if row.state != RushCost.State.ASKED:
        return
    now = timezone.now()
    today = timezone.localdate(now)
    try:
        made, book = preview(row.enquiry, today=today), current_book(today)
        values = shop.shop_of(today)
        calendar = Calendar(values)
        orders = shop.queue_of(calendar)
        newcomer = _queued(made, calendar.now(now))
        ordinary = accepted(orders, newcomer)
        effect = compare(
            (values, ordinary), (values, rushed(ordinary, KEY)), knowledge(calendar, now=now),
            now_minute=calendar.now(now), futures=FUTURES, typical=shop.typical_route(),
        )  # fmt: skip
    except (Refused, NoPriceBook, ShopProblem) as trouble:
        _end(row, state=RushCost.State.FAILED, problem=str(trouble)[:500])
        return
    except Exception:
        # the owner may ask again; the job's own row keeps the cause
        _end(row, state=RushCost.State.FAILED, problem="It could not be worked out; ask again.")
        raise
    rate = Money.rounded(book.value_of("rush.order_day"), book.currency)
    _end(
        row, state=RushCost.State.DONE, order_days=round(effect.order_days, 2), delayed=effect.delayed,
        surcharge=rush_minor_units(effect, rate.minor), currency=book.currency, price_book=book.version,
    )  # fmt: skip


def _queued(made: Estimate, minute: int) -> QueuedOrder:
    """The propeller asked for as it would join the queue, its deposit and drawing still out."""
    waits = tuple(OuterWait(kind, "customer", minute) for kind in ("deposit", "drawing"))
    tasks = tuple(Task(s.stage, s.minutes, s.wait_minutes) for s in made.work if s.minutes or s.wait_minutes)
    return QueuedOrder(KEY, "asked for", minute, tasks, waits, klass=1)


def _end(row: RushCost, **changes: Any) -> None:
    asked = RushCost.objects.filter(pk=row.pk, state=RushCost.State.ASKED)
    asked.update(ended_at=timezone.now(), **changes)
