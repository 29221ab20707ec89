"""The propeller: one physical article, with its serial number and build record."""

from django.db import models

from orders.models.order import Order


class Propeller(models.Model):
    """One article of an order. The serial number is given when the order joins the queue."""

    class State(models.TextChoices):
        PLANNED = "planned", "planned"
        IN_WORK = "in work", "in work"
        RELEASED = "released", "released"
        DISPATCHED = "dispatched", "dispatched"
        SCRAPPED = "scrapped", "scrapped"
        RETIRED = "retired", "retired"

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="propellers")
    position = models.PositiveSmallIntegerField(default=1)
    serial = models.CharField(max_length=24, unique=True, null=True, blank=True)
    state = models.CharField(max_length=12, choices=State.choices, default=State.PLANNED)
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["order", "position"]
        constraints = [
            models.UniqueConstraint(fields=["order", "position"], name="one_propeller_per_position")
        ]

    def __str__(self) -> str:
        return f"Propeller {self.serial or 'without a serial number yet'}"
