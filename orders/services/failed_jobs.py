"""Background jobs that were given up: the owner sees them and has them tried again. Mail has a door of its own."""

from datetime import datetime

from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from orders.models import OutboxJob
from orders.services import audit, drawings, exact_dates, mail, outbox
from orders.who import OWNER, Who

NAMES = {
    "apply-event": _("Taking a card payment into the books"),
    "look-up-attempts": _("Asking about card payments left open"),
    "close-sessions": _("Closing the card payments of a cancelled order"),
    "refund-by-card": _("Giving money back by card"),
    "lapse-quotes": _("Letting quotes lapse"),
    "make-paper": _("Printing a paper"),
    drawings.JOB: _("Drawing a propeller"),
    "replan": _("Making a new plan"),
    "plan-afresh": _("Making the plan of a new day"),
    exact_dates.JOB: _("Dating an enquiry"),
    "what-if": _("Answering a question about the plan"),
    "search-plan": _("Looking longer for a better plan"),
    "rush-cost": _("Working out what a rush would cost"),
    "reprice": _("Pricing again under a draft of the price book"),
    "tidy-up": _("Taking out what is no longer kept"),
}
"""What each kind of job does, in words, by its kind."""


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
