"""What it costs the others if an enquiry's propeller goes first: worked out by the worker from the queue's forecast."""

from django.db import models

from orders.models.enquiry import Enquiry


class RushCost(models.Model):
    """One question to the worker. `order_days` sums the mean delays of the others, `delayed` counts them.

    `surcharge` is that at the price book's rate, in minor units of `currency`.
    """

    class State(models.TextChoices):
        ASKED = "asked", "asked"
        DONE = "done", "done"
        FAILED = "failed", "failed"

    enquiry = models.ForeignKey(Enquiry, on_delete=models.CASCADE, related_name="rush_costs")
    state = models.CharField(max_length=6, choices=State.choices, default=State.ASKED)
    order_days = models.FloatField(null=True, blank=True)
    delayed = models.PositiveIntegerField(default=0)
    surcharge = models.BigIntegerField(null=True, blank=True)
    currency = models.CharField(max_length=3, blank=True)
    price_book = models.CharField(max_length=20, blank=True)
    problem = models.TextField(blank=True)
    asked_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-asked_at", "-id"]

    def __str__(self) -> str:
        return f"cost of a rush for {self.enquiry}"
