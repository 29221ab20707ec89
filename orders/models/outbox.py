"""The outbox: work and mail written in the transaction they tell of, done afterwards by a worker."""

from django.db import models
from django.db.models import Q

from orders.models.customer import Customer


class OutboxJob(models.Model):
    """One piece of work. A worker takes it under a lease, counts the attempt first, acts, then marks it done.

    `debounce` keeps at most one waiting job of a kind that need not run twice. `subject` names what a job is about
    whose state is asked for later.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        RUNNING = "running", "running"
        DONE = "done", "done"
        DEAD = "dead", "dead"

    kind = models.CharField(max_length=40)
    payload = models.JSONField(default=dict)
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    debounce = models.CharField(max_length=80, blank=True)
    subject = models.CharField(max_length=80, blank=True, default="")
    due_at = models.DateTimeField()
    attempts = models.PositiveSmallIntegerField(default=0)
    lease_until = models.DateTimeField(null=True, blank=True)
    lease_owner = models.CharField(max_length=80, blank=True)
    last_error = models.TextField(blank=True)
    created_at = models.DateTimeField()
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes = [
            models.Index(fields=["state", "due_at"], name="outbox_by_due"),
            models.Index(fields=["kind", "subject"], name="outbox_by_subject"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["kind", "debounce"],
                condition=Q(state="waiting") & ~Q(debounce=""),
                name="one_waiting_job_of_a_kind",
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} ({self.state})"


class Mail(models.Model):
    """One mail. Its Message-ID follows from the row, so that a mail sent twice is recognised as the same."""

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        SENT = "sent", "sent"
        DEAD = "dead", "dead"

    kind = models.CharField(max_length=40)
    to = models.EmailField()
    customer = models.ForeignKey(
        Customer, null=True, blank=True, on_delete=models.SET_NULL, related_name="mails"
    )
    subject = models.CharField(max_length=200)
    body = models.TextField()
    about = models.CharField(max_length=80, blank=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    last_error = models.TextField(blank=True)
    created_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"{self.subject} to {self.to}"
