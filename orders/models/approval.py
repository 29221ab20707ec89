"""Approvals: the drawing, which blocks the queue, and the mock-up, which blocks varnish."""

from django.db import models

from orders.models.order import Order


class Approval(models.Model):
    """One question to the customer about one revision of a picture. `remarks` are numbered balloons."""

    class Kind(models.TextChoices):
        DRAWING = "drawing", "drawing"
        MOCK_UP = "mock-up", "mock-up"

    class State(models.TextChoices):
        ASKED = "asked", "asked"
        APPROVED = "approved", "approved"
        CHANGES_WANTED = "changes wanted", "changes wanted"

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="approvals")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    revision = models.PositiveSmallIntegerField(default=1)
    state = models.CharField(max_length=16, choices=State.choices, default=State.ASKED)
    shown = models.JSONField(default=dict)
    shown_hash = models.CharField(max_length=64)
    note = models.TextField(blank=True)
    remarks = models.JSONField(default=list)
    asked_at = models.DateTimeField()
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_name = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["order", "kind", "revision"]
        constraints = [
            models.UniqueConstraint(fields=["order", "kind", "revision"], name="one_approval_per_revision"),
            models.UniqueConstraint(
                fields=["order", "kind"],
                condition=models.Q(state="asked"),
                name="one_open_question_per_picture",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.revision} of {self.order}"
