"""Payments: what is asked for, each try by card, each fact that moved money, each message from the provider."""

import uuid

from django.db import models
from django.db.models import Sum

from orders.models.customer import Customer
from orders.models.order import Order


class PaymentRequest(models.Model):
    """An amount asked of the customer. Whether it is paid is the sum of its payments, nothing else."""

    class Kind(models.TextChoices):
        DEPOSIT = "deposit", "deposit"
        BALANCE = "balance", "balance"
        STORAGE = "storage", "storage"

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="payment_requests")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    amount = models.BigIntegerField()
    currency = models.CharField(max_length=3)
    reference = models.CharField(max_length=32, unique=True)
    asked_at = models.DateTimeField()
    due_on = models.DateField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["order", "kind"], name="one_request_of_a_kind_per_order"),
            models.CheckConstraint(condition=models.Q(amount__gte=0), name="requested_amount_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.reference}"

    @property
    def paid(self) -> int:
        """Minor units received for this request, refunds taken off."""
        return self.payments.aggregate(total=Sum("amount"))["total"] or 0

    @property
    def open(self) -> int:
        return max(0, self.amount - self.paid)

    @property
    def is_settled(self) -> bool:
        return self.paid >= self.amount


class PaymentAttempt(models.Model):
    """One try to pay by card. The row is stored before the provider is called; its id is the idempotency key."""

    class State(models.TextChoices):
        CREATED = "created", "created"
        OPEN = "open", "open"
        PAID = "paid", "paid"
        FAILED = "failed", "failed"
        EXPIRED = "expired", "expired"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    request = models.ForeignKey(PaymentRequest, on_delete=models.PROTECT, related_name="attempts")
    amount = models.BigIntegerField()
    currency = models.CharField(max_length=3)
    session = models.CharField(max_length=255, unique=True, null=True, blank=True)
    url = models.URLField(max_length=2000, blank=True)
    state = models.CharField(max_length=8, choices=State.choices, default=State.CREATED)
    created_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"attempt {self.id}"


class Payment(models.Model):
    """One fact that moved money: unique per provider object and effect, whatever number of messages tell of it.

    `amount` is in minor units, negative for money given back. Without a `request` it is the customer's credit.
    """

    class Kind(models.TextChoices):
        RECEIPT = "receipt", "receipt"
        REFUND = "refund", "refund"

    provider = models.CharField(max_length=16)
    fact = models.CharField(max_length=255)
    kind = models.CharField(max_length=8, choices=Kind.choices, default=Kind.RECEIPT)
    order = models.ForeignKey(Order, null=True, blank=True, on_delete=models.PROTECT, related_name="payments")
    customer = models.ForeignKey(
        Customer, null=True, blank=True, on_delete=models.PROTECT, related_name="payments"
    )
    request = models.ForeignKey(
        PaymentRequest, null=True, blank=True, on_delete=models.PROTECT, related_name="payments"
    )
    attempt = models.ForeignKey(
        PaymentAttempt, null=True, blank=True, on_delete=models.PROTECT, related_name="payments"
    )
    amount = models.BigIntegerField()
    fee = models.BigIntegerField(default=0)
    currency = models.CharField(max_length=3)
    received_on = models.DateField()
    reference = models.CharField(max_length=255, blank=True)
    recorded_by = models.CharField(max_length=120)
    recorded_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["provider", "fact"], name="each_payment_fact_once"),
            models.CheckConstraint(
                condition=models.Q(kind="receipt", amount__gt=0) | models.Q(kind="refund", amount__lt=0),
                name="sign_follows_kind",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.provider} {self.fact}"


class ProviderEvent(models.Model):
    """One message from the card provider, stored as received before anything is done about it."""

    class State(models.TextChoices):
        RECEIVED = "received", "received"
        APPLIED = "applied", "applied"
        IGNORED = "ignored", "ignored"
        PARKED = "parked", "parked"
        QUARANTINED = "quarantined", "quarantined"

    provider = models.CharField(max_length=16)
    account = models.CharField(max_length=64, blank=True)
    livemode = models.BooleanField(default=False)
    event_id = models.CharField(max_length=255)
    type = models.CharField(max_length=80)
    payload = models.TextField()
    state = models.CharField(max_length=12, choices=State.choices, default=State.RECEIVED)
    reason = models.CharField(max_length=255, blank=True)
    received_at = models.DateTimeField()
    applied_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["provider", "account", "livemode", "event_id"], name="each_provider_event_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.type} {self.event_id}"
