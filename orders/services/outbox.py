"""The outbox: jobs are rows written with the change they follow from, taken under a lease, done at least once."""

import logging
import random
from datetime import datetime, timedelta
from typing import Any

from celery import current_app
from django.conf import settings
from django.db import transaction
from django.db.models import F, Q
from kombu.exceptions import OperationalError

from orders.models import OutboxJob

log = logging.getLogger(__name__)

LEASE = timedelta(minutes=6)
"""Longer than the hard time limit of a task, so that a lease runs out only when its worker is gone."""
MOST_ATTEMPTS = 5
LATEST_RETRY = timedelta(hours=1)

S = OutboxJob.State


class Hopeless(Exception):
    """Raised by a job that will never succeed: it is set aside at once and shown to the owner."""


def enqueue(
    kind: str,
    payload: dict[str, Any],
    *,
    now: datetime,
    after: timedelta = timedelta(0),
    debounce: str = "",
    subject: str = "",
) -> OutboxJob:
    """Add a job; assumes the caller's transaction. With `debounce`, a waiting job of the same kind is enough.

    `subject` names what it is about where its state is asked for later.
    """
    values = {"payload": payload, "due_at": now + after, "created_at": now, "subject": subject}
    if debounce:
        job, made = OutboxJob.objects.get_or_create(
            kind=kind, debounce=debounce, state=S.WAITING, defaults=values
        )
        if not made:
            return job
    else:
        job = OutboxJob.objects.create(kind=kind, **values)
    if not after:
        transaction.on_commit(lambda: nudge(job.pk), robust=True)
    return job


def nudge(job_id: int, *, expires: float | None = None) -> None:
    """Tell the broker, if there is one, that a job waits. Only speeds things up: the sweep finds the row anyway.

    A message not taken up within `expires` seconds is dropped; the next sweep sends another.
    """
    if not settings.CELERY_BROKER_URL:
        return
    try:
        current_app.send_task(
            "orders.tasks.run_job", [job_id], retry=False, ignore_result=True, expires=expires
        )
    except OperationalError as trouble:
        log.warning("the broker does not answer, job %s waits for the sweep: %s", job_id, trouble)


def nudge_due(*, now: datetime, expires: float, limit: int = 100) -> int:
    """Nudge the jobs longest due, each to be run as a task of its own; how many."""
    ids = list(
        OutboxJob.objects.filter(_due(now)).order_by("due_at", "id").values_list("pk", flat=True)[:limit]
    )
    for pk in ids:
        nudge(pk, expires=expires)
    return len(ids)


def _due(now: datetime) -> Q:
    return Q(state=S.WAITING, due_at__lte=now) | Q(state=S.RUNNING, lease_until__lt=now)


def claim(owner: str, *, now: datetime, limit: int = 10, job_id: int | None = None) -> list[OutboxJob]:
    """Take due jobs under a lease, counting the attempt before it is made. Jobs tried too often are set aside."""
    due = _due(now)
    if job_id is not None:
        due &= Q(pk=job_id)
    with transaction.atomic():
        OutboxJob.objects.filter(due, attempts__gte=MOST_ATTEMPTS).update(
            state=S.DEAD, last_error="given up: it never finished", lease_until=None
        )
        rows = OutboxJob.objects.select_for_update(skip_locked=True).filter(due).order_by("due_at", "id")
        ids = [row.pk for row in rows[:limit]]
        OutboxJob.objects.filter(pk__in=ids).update(
            state=S.RUNNING, attempts=F("attempts") + 1, lease_until=now + LEASE, lease_owner=owner
        )
    return list(OutboxJob.objects.filter(pk__in=ids).order_by("due_at", "id"))


def finish(job: OutboxJob, *, now: datetime) -> None:
    """Mark a job done, if the lease is still ours."""
    OutboxJob.objects.filter(pk=job.pk, state=S.RUNNING, lease_owner=job.lease_owner).update(
        state=S.DONE, done_at=now, lease_until=None, last_error=""
    )


def put_back(job: OutboxJob, error: Exception, *, now: datetime) -> None:
    """Leave a failed job for later, each time longer, with jitter; set it aside when there is no hope."""
    dead = isinstance(error, Hopeless) or job.attempts >= MOST_ATTEMPTS
    pause = min(LATEST_RETRY, timedelta(seconds=5 * 4**job.attempts)) * random.uniform(0.8, 1.2)  # noqa: S311
    mine = OutboxJob.objects.filter(pk=job.pk, state=S.RUNNING, lease_owner=job.lease_owner)
    mine.update(
        state=S.DEAD if dead else S.WAITING,
        # a later job of the same kind may be waiting already: a retry stands beside it
        debounce="",
        due_at=now + pause,
        lease_until=None,
        last_error=f"{type(error).__name__}: {error}"[:2000],
    )


def try_again(job: OutboxJob, *, now: datetime) -> bool:
    """Let a job that was set aside be tried afresh; False when it was not set aside."""
    waits = OutboxJob.objects.filter(pk=job.pk, state=S.DEAD).update(
        state=S.WAITING, attempts=0, due_at=now, debounce=""
    )
    if waits:
        transaction.on_commit(lambda: nudge(job.pk), robust=True)
    return bool(waits)
