"""The exact run of an enquiry: its own propellers simulated in the queue as it stands, kept for the quote to come.

Imports the simulation; only the worker and commands import this file.
"""

from dataclasses import replace
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from orders.models import Enquiry, ExactDate
from orders.refusal import Refused
from orders.services import exact_dates, shop
from orders.services.knowledge import snapshot_at
from orders.services.quote import Review, preview
from quoting.estimate import Estimate
from quoting.leadtime.calendar import ShopProblem
from quoting.leadtime.outlook import Forecast
from quoting.leadtime.probes import exact
from quoting.leadtime.queue import Task
from quoting.services.serial import unstructured

FUTURES = 1000
CLOSED = (Enquiry.State.DECLINED, Enquiry.State.WITHDRAWN)
OVERRIDDEN = Review(override_reason="as under review")

S = ExactDate.State


@transaction.atomic
def ask_again(*, now: datetime) -> None:
    """A new plan stands: what waits for a quote is dated anew."""
    exact_dates.ask_again(now=now)


def run(payload: dict[str, Any]) -> None:
    """Job: date what one enquiry asks for, as it was asked for last. Nothing to do once its quote is out."""
    row = ExactDate.objects.select_related("enquiry").filter(enquiry=payload["enquiry"]).first()
    if row is None or row.enquiry.state in CLOSED:
        return
    now = timezone.now()
    try:
        made = preview(row.enquiry, OVERRIDDEN if row.overridden else Review(), today=timezone.localdate(now))
        found = _run(made, rush=row.rush, now=now)
    except (Refused, ShopProblem) as trouble:
        _end(row, state=S.FAILED, problem=str(trouble)[:500])
        return
    except Exception:
        # the owner may ask again; the job's own row keeps the cause
        _end(row, state=S.FAILED, problem="It could not be worked out; ask again.")
        raise
    if found is None:
        _end(row, state=S.DONE, fits="", forecast={})
    else:
        _end(row, state=S.DONE, fits=exact_dates.basis(made, rush=row.rush), forecast=unstructured(found))


def _run(made: Estimate, *, rush: bool, now: datetime) -> Forecast | None:
    """The exact forecast, named after the plan it was asked under; None where a stop withholds a date."""
    if made.forecast is None:
        return None
    seen = snapshot_at(now)
    work = tuple(Task(s.stage, s.minutes, s.wait_minutes) for s in made.work)
    found = exact(
        seen.shop,
        seen.orders,
        seen.calibration,
        work,
        now_minute=seen.now,
        count=exact_dates.count_of(made),
        rush=rush,
        typical=shop.typical_route() or work,
        waits_on=made.forecast.waits_on,
        futures=FUTURES,
    )
    return replace(found, plan_version=made.forecast.plan_version)


def _end(row: ExactDate, **changes: Any) -> None:
    """Keep an answer, unless something else was asked meanwhile: that has a job of its own."""
    asked = ExactDate.objects.filter(pk=row.pk, asked_at=row.asked_at)
    asked.update(ended_at=timezone.now(), **changes)
