"""The workshop itself: who issues the papers, in which currency and time zone, and how deposits are taxed."""

from zoneinfo import ZoneInfo

from django.db import models


class Workshop(models.Model):
    """One row: the seller on every document and the rules the owner has chosen.

    `opening` lists the shop's (start, end) minutes a weekday, Monday first; empty: whenever somebody works.
    """

    class DepositTax(models.TextChoices):
        AT_DELIVERY = "at delivery", "tax is due at delivery"
        ON_RECEIPT = "on receipt", "tax is due when the deposit is received"

    name = models.CharField(max_length=120)
    street = models.CharField(max_length=160, blank=True)
    postcode = models.CharField(max_length=20, blank=True)
    city = models.CharField(max_length=120, blank=True)
    country = models.CharField(max_length=2, default="DE")
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    tax_id = models.CharField(max_length=40, blank=True)
    bank_details = models.TextField(blank=True)
    currency = models.CharField(max_length=3, default="EUR")
    timezone = models.CharField(max_length=60, default="Europe/Berlin")
    holidays_country = models.CharField(max_length=2, default="DE")
    holidays_subdivision = models.CharField(max_length=6, blank=True)
    opening = models.JSONField(default=list, blank=True)
    deposit_tax = models.CharField(max_length=12, choices=DepositTax.choices, default=DepositTax.AT_DELIVERY)
    terms_version = models.CharField(max_length=20, default="1")
    payment_days = models.PositiveSmallIntegerField(default=14)
    quote_days = models.PositiveSmallIntegerField(default=30)
    only_one = models.BooleanField(default=True, editable=False, unique=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(only_one=True), name="there_is_one_workshop")
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.timezone)
