"""What an order costs beyond the accepted quote, under the terms that were accepted with it."""

from django.conf import settings
from django.db import models

from orders.models.invoice import Invoice
from orders.models.order import Order


class Charge(models.Model):
    """A fee for a change after the drawing was approved, or storage of a ready, unpaid propeller; `net` in minor units.

    It stands on the order's invoice when made before that, else on a debit note of its own.
    """

    class Kind(models.TextChoices):
        CHANGE = "change", "change after approval"
        STORAGE = "storage", "storage"

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="charges")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    net = models.BigIntegerField()
    reason = models.TextField()
    invoice = models.ForeignKey(
        Invoice, null=True, blank=True, on_delete=models.PROTECT, related_name="charges"
    )
    charged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    charged_at = models.DateTimeField()

    class Meta:
        ordering = ["charged_at", "id"]
        constraints = [
            models.CheckConstraint(condition=models.Q(net__gt=0), name="charge_is_more_than_nothing")
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.order}"
