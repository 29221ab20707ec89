"""The date of an enquiry under review: the worker's exact run where it fits what is on the page, else the looked-up one.

A run fits the same tasks, number of propellers, place in the queue and waits, on the plan that stands. The run itself is
`dating`, which only the worker loads.
"""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from django.db import transaction

from orders.models import Enquiry, ExactDate, OutboxJob
from orders.services import outbox
from orders.who import OWNER, Who
from quoting.estimate import Estimate
from quoting.leadtime.outlook import Forecast
from quoting.services.serial import digest, structured

JOB = "exact-date"
AFTER_A_PLAN = timedelta(seconds=15)
"""A busy bench makes a plan with each record; the enquiries that wait are dated again once it is quiet so long."""
WAITING = (Enquiry.State.NEW, Enquiry.State.ASKED_BACK)

S = ExactDate.State


@dataclass(frozen=True, slots=True)
class Dated:
    """The `forecast` of an estimate and, where it is the looked-up one, whether the exact one is on its way or failed."""

    forecast: Forecast | None
    being_made: bool = False
    problem: str = ""

    @property
    def may_be_asked(self) -> bool:
        """Whether the page offers to ask for the exact date."""
        return self.forecast is not None and not self.forecast.exact and not self.being_made


def count_of(made: Estimate) -> int:
    """How many propellers are priced and dated."""
    return (made.terms.quantity if made.terms else 0) or made.specification.quantity


def basis(made: Estimate, *, rush: bool) -> str:
    """A digest of all that an estimate's date follows from; empty where a stop withholds the date."""
    if made.forecast is None:
        return ""
    return digest(
        {
            "work": [[stage.stage, stage.minutes, stage.wait_minutes] for stage in made.work],
            "count": count_of(made),
            "rush": rush,
            "waits_on": list(made.forecast.waits_on),
            "plan": made.forecast.plan_version,
        }
    )


def dated(enquiry: Enquiry, made: Estimate, *, rush: bool) -> Dated:
    """What is known of the date of an enquiry's estimate; one query."""
    row = ExactDate.objects.filter(enquiry=enquiry).first()
    if made.forecast is None or row is None:
        return Dated(made.forecast)
    if row.fits == basis(made, rush=rush):
        return Dated(structured(row.forecast, Forecast))
    return Dated(
        made.forecast, row.state == S.ASKED and row.rush == rush, row.problem if row.state == S.FAILED else ""
    )


def with_exact(enquiry: Enquiry, made: Estimate, *, rush: bool) -> Estimate:
    """The estimate with the exact date in place of the looked-up one, where there is one that fits."""
    return replace(made, forecast=dated(enquiry, made, rush=rush).forecast)


def ask(enquiry: Enquiry, *, rush: bool = False, overridden: bool = False, now: datetime) -> None:
    """Have the worker date what an enquiry asks for; assumes the caller's transaction."""
    ExactDate.objects.update_or_create(
        enquiry=enquiry,
        defaults={"rush": rush, "overridden": overridden, "state": S.ASKED, "problem": "", "asked_at": now},
    )
    job = outbox.enqueue(JOB, {"enquiry": enquiry.pk}, now=now, debounce=enquiry.number)
    OutboxJob.objects.filter(pk=job.pk, state=OutboxJob.State.WAITING, due_at__gt=now).update(due_at=now)


@transaction.atomic
def ask_for(who: Who, enquiry: Enquiry, *, rush: bool, overridden: bool, now: datetime) -> None:
    """The owner asks for the exact date of the enquiry as it stands under review; at most one run waits."""
    who.must_be(OWNER)
    enquiry = Enquiry.objects.select_for_update().get(pk=enquiry.pk)
    ask(enquiry, rush=rush, overridden=overridden, now=now)


def follow(enquiry: Enquiry, *, rush: bool, overridden: bool, now: datetime) -> None:
    """The review assumes this now: date it anew when the last run did not; assumes the caller's transaction."""
    row = ExactDate.objects.filter(enquiry=enquiry).exclude(state=S.FAILED).first()
    if row is None or (row.rush, row.overridden) != (rush, overridden):
        ask(enquiry, rush=rush, overridden=overridden, now=now)


def ask_again(*, now: datetime) -> None:
    """Have all that waits for a quote dated by the plan that has just been made; assumes the caller's transaction."""
    fresh = Enquiry.objects.filter(state__in=WAITING, exact_date=None)
    ExactDate.objects.bulk_create(
        [ExactDate(enquiry=enquiry, asked_at=now) for enquiry in fresh], ignore_conflicts=True
    )
    rows = ExactDate.objects.filter(enquiry__state__in=WAITING)
    rows.update(state=S.ASKED, problem="", asked_at=now)
    for pk, number in rows.values_list("enquiry", "enquiry__number"):
        outbox.enqueue(JOB, {"enquiry": pk}, now=now, after=AFTER_A_PLAN, debounce=number)


def forget(enquiry: Enquiry) -> None:
    """A quote is out: it carries its date itself."""
    ExactDate.objects.filter(enquiry=enquiry).delete()
