"""The Celery door: two tasks that carry no more than an id to the worker's functions."""

from typing import Any

from celery import shared_task
from celery.signals import worker_process_init

from orders import worker
from quoting.leadtime.warm import warm


@worker_process_init.connect  # type: ignore[untyped-decorator]
def make_ready(**_: Any) -> None:
    """Load the compiled simulation before the first task needs it."""
    warm()


@shared_task(name="orders.tasks.run_job")  # type: ignore[untyped-decorator]
def run_job(job_id: int) -> bool:
    """Run one outbox job if it is still due."""
    return worker.run_one(job_id)


@shared_task(name="orders.tasks.sweep_outbox")  # type: ignore[untyped-decorator]
def sweep_outbox() -> int:
    """Send a message for whatever is due: finds jobs whose message was lost."""
    return worker.nudge_due()
