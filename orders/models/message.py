"""Messages between the customer and the workshop, on an enquiry or an order."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from orders.models.enquiry import Enquiry
from orders.models.order import Order


class Message(models.Model):
    """One message of a thread."""

    class Side(models.TextChoices):
        CUSTOMER = "customer", "customer"
        WORKSHOP = "workshop", "workshop"

    enquiry = models.ForeignKey(
        Enquiry, null=True, blank=True, on_delete=models.PROTECT, related_name="messages"
    )
    order = models.ForeignKey(Order, null=True, blank=True, on_delete=models.PROTECT, related_name="messages")
    side = models.CharField(max_length=8, choices=Side.choices)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL)
    name = models.CharField(max_length=120)
    body = models.TextField()
    written_at = models.DateTimeField()

    class Meta:
        ordering = ["written_at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(enquiry__isnull=False) | Q(order__isnull=False), name="message_belongs_somewhere"
            )
        ]

    def __str__(self) -> str:
        return f"{self.side}: {self.body[:40]}"
