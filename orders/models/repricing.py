"""A re-pricing of past quotes and open enquiries under a draft price book: what was chosen, how far it is, what came out."""

from django.conf import settings
from django.db import models

from quoting.models import PriceBookVersion


class Repricing(models.Model):
    """One run. The set is fixed when it is asked for; the worker counts `done` up and writes `differences` at the end.

    `book_digest` is that of the draft's entries as the worker read them: a draft changed since has another one.
    `differences` are `quoting.pricing.reprice.Difference` values as `quoting.services.serial` writes them.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        RUNNING = "running", "running"
        DONE = "done", "done"
        FAILED = "failed", "failed"

    book = models.ForeignKey(PriceBookVersion, on_delete=models.PROTECT, related_name="repricings")
    book_digest = models.CharField(max_length=64, blank=True)
    chosen = models.JSONField(default=dict)
    quotes = models.JSONField(default=list)
    enquiries = models.JSONField(default=list)
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField()
    differences = models.JSONField(default=list)
    unpriced = models.JSONField(default=list)
    problem = models.TextField(blank=True)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    asked_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-asked_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(done__lte=models.F("total")), name="repricing_does_no_more_than_all"
            )
        ]

    def __str__(self) -> str:
        return f"re-pricing of {self.total} under {self.book}"

    @property
    def is_under_way(self) -> bool:
        return self.state in (self.State.WAITING, self.State.RUNNING)
