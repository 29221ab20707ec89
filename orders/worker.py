"""The worker: runs outbox jobs one by one. The loop of `manage.py work` and the Celery tasks call the same functions."""

import logging
import os
import socket
import time
from collections.abc import Callable
from datetime import timedelta
from threading import Event, Thread
from typing import Any

from django.conf import settings
from django.db import close_old_connections
from django.utils import timezone

from orders.models import OutboxJob
from orders.services import (
    dating,
    drawings,
    drawn_files,
    exact_dates,
    mail,
    outbox,
    payment,
    plan_answers,
    printing,
    quote,
    refund,
    replan,
    repricing,
    retention,
    rush_forecast,
)
from orders.services.workshop_time import workshop_time
from quoting.leadtime.warm import warm

log = logging.getLogger(__name__)

JOBS: dict[str, Callable[[dict[str, Any]], None]] = {
    "send-mail": mail.send,
    "apply-event": payment.apply_event,
    "look-up-attempts": payment.look_up_open_attempts,
    "lapse-quotes": quote.lapse_expired,
    "make-paper": printing.make,
    drawings.JOB: drawn_files.make,
    "refund-by-card": refund.send_back,
    "close-sessions": payment.close_sessions,
    "replan": replan.replan,
    "plan-afresh": replan.afresh,
    exact_dates.JOB: dating.run,
    "tidy-up": retention.run,
    "reprice": repricing.run,
    "what-if": plan_answers.what_if,
    "search-plan": plan_answers.search,
    "rush-cost": rush_forecast.run,
}
"""What each kind of job does; the payload names rows, the rows hold the truth."""

ROUNDS: dict[str, timedelta] = {
    "look-up-attempts": timedelta(minutes=15),
    "lapse-quotes": timedelta(minutes=10),
    "plan-afresh": timedelta(minutes=20),
    "tidy-up": timedelta(days=1),
}
"""Jobs that come round by themselves: one waits at any time, whoever sweeps."""


def me() -> str:
    return f"{socket.gethostname()}:{os.getpid()}"


def run(job: OutboxJob) -> bool:
    """Run one claimed job; whatever goes wrong is written on its row. True when it was done."""
    try:
        with workshop_time():
            JOBS[job.kind](job.payload)
    except Exception as error:  # the loop must live on; the row tells the owner
        log.warning("job %s (%s), attempt %s: %s", job.pk, job.kind, job.attempts, error, exc_info=True)
        outbox.put_back(job, error, now=timezone.now())
        return False
    outbox.finish(job, now=timezone.now())
    return True


def run_one(job_id: int) -> bool:
    """Claim and run one job by id; False when it is not due, taken or done."""
    return any(run(job) for job in outbox.claim(me(), now=timezone.now(), limit=1, job_id=job_id))


def sweep(*, most: int = 1000, stop: Event | None = None) -> int:
    """Run what is due until nothing is left, or until told to stop between two jobs; the number of jobs run."""
    go_round()
    count = 0
    while count < most and not (stop and stop.is_set()):
        jobs = outbox.claim(me(), now=timezone.now(), limit=1)
        if not jobs:
            break
        for job in jobs:
            run(job)
            count += 1
    return count


def nudge_due() -> int:
    """The sweep of a workshop with a broker: each job that is due runs as a task of its own, under its own time limit."""
    go_round()
    return outbox.nudge_due(now=timezone.now(), expires=settings.SWEEP_SECONDS)


def go_round() -> None:
    """See that each job that comes round is waiting for its next time."""
    now = timezone.now()
    for kind, period in ROUNDS.items():
        outbox.enqueue(kind, {}, now=now, after=period, debounce=kind)


def work(stop: Event, *, pause: float = 1.0, warming: bool = True) -> None:
    """Sweep until told to stop; a database out of reach is waited for. The simulation is made ready meanwhile."""
    ready = Thread(target=warm, daemon=True)
    if warming:
        ready.start()
    while not stop.is_set():
        started = time.monotonic()
        close_old_connections()
        try:
            sweep(stop=stop)
        except Exception:
            log.exception("the sweep failed; trying again")
        stop.wait(max(0.05, pause - (time.monotonic() - started)))
    if ready.is_alive():
        ready.join(timeout=30)
