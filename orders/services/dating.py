"""The exact run before a quote is sent: a draft's own work simulated in the queue as it stands, its dates put right.

Imports the simulation; only the worker and commands import this file.
"""

from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from orders.services import outbox, shop
from orders.services.knowledge import snapshot_at
from quoting.leadtime.probes import exact
from quoting.leadtime.queue import Task
from quoting.models import Quote
from quoting.pricing.lines import Category
from quoting.services.quotes import results_of, specification_of
from quoting.services.serial import unstructured

FUTURES = 1000


def ask_again(*, now: datetime) -> None:
    """Have every draft that waits to be sent dated by the plan that has just been made."""
    for draft in Quote.objects.filter(state=Quote.State.DRAFTED).only("pk"):
        outbox.enqueue("date-quote", {"quote": draft.pk}, now=now, debounce=f"quote {draft.pk}")


def run(payload: dict[str, Any]) -> None:
    """Job: date one draft by simulating its very propellers. The owner's own promise stays; a sent quote too.

    Raises ShopProblem where the queue cannot be simulated; the dates looked up then stand, labelled as such.
    """
    draft = Quote.objects.filter(pk=payload["quote"], state=Quote.State.DRAFTED).first()
    results = results_of(draft) if draft else None
    if draft is None or results is None or results.forecast is None:
        return
    seen = snapshot_at(timezone.now())
    work = tuple(Task(s.stage, s.minutes, s.wait_minutes) for s in results.work)
    dated = exact(
        seen.shop,
        seen.orders,
        seen.calibration,
        work,
        now_minute=seen.now,
        count=specification_of(draft).quantity,
        rush=any(line.category is Category.RUSH for line in results.price.lines),
        typical=shop.typical_route() or work,
        waits_on=results.forecast.waits_on,
        futures=FUTURES,
    )
    with transaction.atomic():
        row = Quote.objects.select_for_update().filter(pk=draft.pk, state=Quote.State.DRAFTED).first()
        if row is None or row.results != draft.results:
            return
        row.results["forecast"] = unstructured(dated)
        row.plan_version = dated.plan_version
        if row.promised_for == results.forecast.plan_on:
            row.promised_for = dated.plan_on
        row.save(update_fields=["results", "plan_version", "promised_for"])
