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

    class Retirement(models.TextChoices):
        RETURNED = "returned", "it came back to the workshop"
        DAMAGED = "damaged", "it is damaged beyond repair"
        LIFE_ENDED = "life ended", "its life has ended"

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="propellers")
    position = models.PositiveSmallIntegerField(default=1)
    serial = models.CharField(max_length=24, unique=True, null=True, blank=True)
    state = models.CharField(max_length=12, choices=State.choices, default=State.PLANNED)
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.CharField(max_length=120, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)
    retired_for = models.CharField(max_length=12, choices=Retirement.choices, blank=True)
    retired_note = models.TextField(blank=True)

    class Meta:
        ordering = ["order", "position"]
        constraints = [
            models.UniqueConstraint(fields=["order", "position"], name="one_propeller_per_position"),
            models.CheckConstraint(
                condition=~models.Q(state="retired")
                | (~models.Q(retired_for="") & models.Q(retired_at__isnull=False)),
                name="a_retired_propeller_says_why",
            ),
        ]

    def __str__(self) -> str:
        return f"Propeller {self.serial or 'without a serial number yet'}"
