"""Background jobs that were given up: the owner sees them and has them tried again. Mail has a door of its own."""

from datetime import datetime

from django.db import transaction
from django.db.models import QuerySet

from orders.models import OutboxJob
from orders.services import audit, mail, outbox
from orders.who import OWNER, Who


def failed() -> QuerySet[OutboxJob]:
    """The jobs that were given up, the latest first."""
    return OutboxJob.objects.filter(state=OutboxJob.State.DEAD).exclude(kind=mail.JOB).order_by("-id")


@transaction.atomic
def try_again(who: Who, job: OutboxJob, *, now: datetime) -> None:
    """Have a job that was given up tried afresh; pressing twice does nothing more."""
    who.must_be(OWNER)
    if outbox.try_again(job, now=now):
        audit.record(
            who, "try again", f"job {job.pk}", now=now, before=OutboxJob.State.DEAD,
            after=OutboxJob.State.WAITING, detail={"kind": job.kind},
        )  # fmt: skip
