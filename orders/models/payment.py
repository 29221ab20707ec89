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
        """What is still to come; nothing is asked of a cancelled order."""
        if self.order.state == Order.State.CANCELLED:
            return 0
        return max(0, self.amount - self.paid)

    @property
    def is_settled(self) -> bool:
        return not self.open


class PaymentAttempt(models.Model):
    """One try to pay by card. The row is stored before the provider is called; its id is the idempotency key.

    One that the provider tells something else of is set aside: the owner is told and it is asked about no more.
    """

    class State(models.TextChoices):
        CREATED = "created", "created"
        OPEN = "open", "open"
        PAID = "paid", "paid"
        EXPIRED = "expired", "expired"
        ASIDE = "aside", "set aside"

    UNDER_WAY = (State.CREATED, State.OPEN)

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    request = models.ForeignKey(PaymentRequest, on_delete=models.PROTECT, related_name="attempts")
    amount = models.BigIntegerField()
    currency = models.CharField(max_length=3)
    session = models.CharField(max_length=255, unique=True, null=True, blank=True)
    url = models.URLField(max_length=2000, blank=True)
    state = models.CharField(max_length=8, choices=State.choices, default=State.CREATED)
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["request"],
                condition=models.Q(state__in=["created", "open"]),
                name="one_attempt_under_way_per_request",
            )
        ]

    def __str__(self) -> str:
        return f"attempt {self.id}"


class Payment(models.Model):
    """One fact that moved money: unique per provider object and effect, whatever number of messages tell of it.

    `amount` is in minor units, negative for money given back. Without a `request` it is the customer's credit.
    """

    class Kind(models.TextChoices):
        RECEIPT = "receipt", "receipt"
        REFUND = "refund", "refund"

    TAKEN_BACK = ", taken back"
    """What the fact of a transfer booked by mistake is followed by, in the row that takes it back."""

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


class CardRefund(models.Model):
    """Money the provider is asked to give back on a card payment. Stored before it is asked; its id is the idempotency key.

    `amount` is what goes back, in minor units. For a refund after delivery `net` of it is taken off the sales and `tax`
    off the tax; where money that is owed back is paid, both are 0.
    """

    class State(models.TextChoices):
        QUEUED = "queued", "asked for"
        DONE = "done", "done"
        FAILED = "failed", "refused"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="card_refunds")
    paid = models.ForeignKey(Payment, on_delete=models.PROTECT, related_name="card_refunds")
    amount = models.BigIntegerField()
    net = models.BigIntegerField(default=0)
    tax = models.BigIntegerField(default=0)
    reason = models.TextField()
    state = models.CharField(max_length=6, choices=State.choices, default=State.QUEUED)
    given = models.OneToOneField(
        Payment, null=True, blank=True, on_delete=models.PROTECT, related_name="card_refund"
    )
    trouble = models.CharField(max_length=255, blank=True)
    asked_by = models.CharField(max_length=120)
    asked_at = models.DateTimeField()
    tried_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["asked_at", "id"]
        constraints = [
            models.CheckConstraint(condition=models.Q(amount__gt=0), name="card_refund_is_more_than_nothing"),
            models.CheckConstraint(
                condition=models.Q(net=0, tax=0) | models.Q(amount=models.F("net") + models.F("tax")),
                name="card_refund_adds_up",
            ),
        ]

    def __str__(self) -> str:
        return f"card refund {self.id}"

    @property
    def is_of_sale(self) -> bool:
        """Whether it takes back part of a sale; else it pays what is owed."""
        return self.net + self.tax > 0


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
