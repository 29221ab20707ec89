"""The exact run of what an enquiry asks for: its own propellers simulated in the queue, for the quote that answers it."""

from django.db import models

from orders.models.enquiry import Enquiry


class ExactDate(models.Model):
    """One per enquiry that waits for a quote: what was last asked for, and the worker's last answer.

    Asked for as a `rush` order, and past a stop when `overridden`, as the owner's review stands. `fits` is the digest
    of what went into `forecast` (`orders.services.exact_dates.basis`); for anything else that date does not hold.
    """

    class State(models.TextChoices):
        ASKED = "asked", "asked"
        DONE = "done", "done"
        FAILED = "failed", "failed"

    enquiry = models.OneToOneField(Enquiry, on_delete=models.CASCADE, related_name="exact_date")
    rush = models.BooleanField(default=False)
    overridden = models.BooleanField(default=False)
    state = models.CharField(max_length=6, choices=State.choices, default=State.ASKED)
    fits = models.CharField(max_length=64, blank=True)
    forecast = models.JSONField(default=dict)
    problem = models.TextField(blank=True)
    asked_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"exact date of {self.enquiry}"
