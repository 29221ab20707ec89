"""The order: an accepted quote on its way to dispatch."""

from django.db import models

from orders.models.customer import Customer
from orders.models.enquiry import Enquiry


class Order(models.Model):
    """One order. What was accepted (revision, hash, terms, name, instant) is bound at acceptance and never changes.

    `freight_cost` is what carriage cost the shop in the end, in minor units, entered at dispatch or later.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        QUEUED = "queued", "queued"
        ON_THE_BENCH = "on the bench", "on the bench"
        HELD = "held", "held"
        READY = "ready", "ready"
        DISPATCHED = "dispatched", "dispatched"
        CANCELLED = "cancelled", "cancelled"

    number = models.CharField(max_length=20, unique=True)
    token = models.CharField(max_length=64, unique=True)
    quote = models.OneToOneField("quoting.Quote", on_delete=models.PROTECT, related_name="order")
    series = models.OneToOneField("quoting.QuoteSeries", on_delete=models.PROTECT, related_name="order")
    enquiry = models.OneToOneField(
        Enquiry, null=True, blank=True, on_delete=models.PROTECT, related_name="order"
    )
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="orders")
    state = models.CharField(max_length=12, choices=State.choices, default=State.WAITING)
    held_from = models.CharField(max_length=12, choices=State.choices, blank=True)
    held_reason = models.TextField(blank=True)
    display_only = models.BooleanField(default=False)
    quantity = models.PositiveSmallIntegerField(default=1)
    title = models.CharField(max_length=160, blank=True)
    currency = models.CharField(max_length=3)
    net = models.BigIntegerField()
    tax = models.BigIntegerField()
    gross = models.BigIntegerField()
    deposit = models.BigIntegerField()
    rush = models.BooleanField(default=False)
    rank = models.FloatField(null=True, blank=True)
    promise = models.DateField(null=True, blank=True)
    accepted_name = models.CharField(max_length=120)
    accepted_at = models.DateTimeField()
    accepted_hash = models.CharField(max_length=64)
    terms_version = models.CharField(max_length=20)
    address = models.JSONField(default=dict)
    queued_at = models.DateTimeField(null=True, blank=True)
    ready_at = models.DateTimeField(null=True, blank=True)
    dispatched_at = models.DateTimeField(null=True, blank=True)
    carrier = models.CharField(max_length=120, blank=True)
    tracking = models.CharField(max_length=120, blank=True)
    freight_cost = models.BigIntegerField(null=True, blank=True)

    class Meta:
        indexes = [models.Index(fields=["state", "promise"], name="order_by_state")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(gross=models.F("net") + models.F("tax")), name="gross_is_net_plus_tax"
            ),
            models.CheckConstraint(
                condition=models.Q(deposit__gte=0, deposit__lte=models.F("gross")),
                name="deposit_within_gross",
            ),
        ]

    def __str__(self) -> str:
        return f"Order {self.number}"

    @property
    def balance(self) -> int:
        return self.gross - self.deposit

    @property
    def is_open(self) -> bool:
        return self.state not in (self.State.DISPATCHED, self.State.CANCELLED)
