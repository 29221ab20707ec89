"""Confirmations: what an order was quoted on without the customer having said it, and the word given on it."""

from django.db import models

from orders.models.order import Order


class Confirmation(models.Model):
    """One open question of an order. `typed` are the ask page's fields the answer fills in.

    OTHERWISE is an answer that the accepted quote does not hold: a revision has to take it in.
    """

    class State(models.TextChoices):
        OPEN = "open", "open"
        CONFIRMED = "confirmed", "confirmed"
        OTHERWISE = "otherwise", "otherwise"

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="confirmations")
    key = models.CharField(max_length=20)
    question = models.CharField(max_length=200)
    assumed = models.CharField(max_length=200, blank=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    answer = models.CharField(max_length=300, blank=True)
    typed = models.JSONField(default=dict)
    decided_name = models.CharField(max_length=120, blank=True)
    decided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["order", "id"]
        constraints = [
            models.UniqueConstraint(fields=["order", "key"], name="one_confirmation_of_a_kind_per_order"),
            models.CheckConstraint(
                condition=models.Q(state="open")
                | (models.Q(decided_at__isnull=False) & ~models.Q(answer="")),
                name="confirmation_is_signed",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key} of {self.order}"
