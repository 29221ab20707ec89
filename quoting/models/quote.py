"""Quotes: a numbered series and its revisions. A sent revision is immutable: triggers refuse changes."""

import secrets
from datetime import datetime

from django.conf import settings
from django.db import models
from django.db.models import Q

from quoting.models.price_book import PriceBookVersion
from quoting.pricing.money import Money


def new_token() -> str:
    """An unguessable word for a link: 192 random bits."""
    return secrets.token_urlsafe(24)


class QuoteSeries(models.Model):
    """The number that all revisions of one offer share."""

    number = models.CharField(max_length=20, unique=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("number",)
        verbose_name_plural = "quote series"

    def __str__(self) -> str:
        return self.number


class Quote(models.Model):
    """One revision of an offer, complete in itself.

    `typed` is what was typed, `specification` and `results` are the structured forms of
    `quoting.services.serial`: they stand alone when the catalogue has moved on. Amounts are minor units of
    `currency`. From sending on only `state` and, once, the decision fields may change.
    """

    class State(models.TextChoices):
        DRAFTED = "drafted", "drafted"
        SENT = "sent", "sent"
        SUPERSEDED = "superseded", "superseded"
        ACCEPTED = "accepted", "accepted"
        DECLINED = "declined", "declined"
        LAPSED = "lapsed", "lapsed"

    series = models.ForeignKey(QuoteSeries, on_delete=models.PROTECT, related_name="revisions")
    revision = models.PositiveSmallIntegerField(default=1)
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFTED)
    token = models.CharField(max_length=40, unique=True, default=new_token, editable=False)
    drafted_at = models.DateTimeField(auto_now_add=True)

    typed = models.JSONField(default=dict)
    specification = models.JSONField()
    results = models.JSONField()
    overridden = models.BooleanField(default=False)
    override_reason = models.TextField(blank=True)
    message = models.TextField(blank=True)

    currency = models.CharField(max_length=3)
    net_minor = models.BigIntegerField()
    tax_minor = models.BigIntegerField()
    gross_minor = models.BigIntegerField()
    deposit_minor = models.BigIntegerField()
    balance_minor = models.BigIntegerField()
    cost_minor = models.BigIntegerField()
    price_book = models.ForeignKey(PriceBookVersion, on_delete=models.PROTECT, related_name="quotes")
    model_version = models.CharField(max_length=40)
    plan_version = models.CharField(max_length=64, blank=True)
    promised_for = models.DateField(null=True, blank=True)

    issued_at = models.DateTimeField(null=True, blank=True)
    expires_at = models.DateTimeField(null=True, blank=True)
    terms_version = models.CharField(max_length=20, blank=True)
    content_hash = models.CharField(max_length=64, blank=True)
    sent_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    decided_at = models.DateTimeField(null=True, blank=True)
    decided_by = models.CharField(max_length=120, blank=True)
    decision_reason = models.TextField(blank=True)
    decision_hash = models.CharField(max_length=64, blank=True)

    class Meta:
        ordering = ("series", "revision")
        constraints = [
            models.UniqueConstraint(name="quote_revision_once", fields=("series", "revision")),
            models.UniqueConstraint(
                name="one_accepted_quote_per_series", fields=("series",), condition=Q(state="accepted")
            ),
            models.UniqueConstraint(
                name="one_open_quote_per_series", fields=("series",), condition=Q(state="sent")
            ),
            models.CheckConstraint(name="quote_revision_positive", condition=Q(revision__gte=1)),
            models.CheckConstraint(
                name="quote_totals_sum",
                condition=Q(gross_minor=models.F("net_minor") + models.F("tax_minor"))
                & Q(gross_minor=models.F("deposit_minor") + models.F("balance_minor")),
            ),
            models.CheckConstraint(
                name="quote_sent_is_sealed",
                condition=Q(state="drafted")
                | (
                    Q(issued_at__isnull=False)
                    & Q(expires_at__isnull=False)
                    & ~Q(terms_version="")
                    & ~Q(content_hash="")
                ),
            ),
            models.CheckConstraint(
                name="quote_decision_is_signed",
                condition=~Q(state="accepted")
                | (
                    Q(decided_at__isnull=False)
                    & ~Q(decided_by="")
                    & Q(decision_hash=models.F("content_hash"))
                ),
            ),
        ]
        indexes = [models.Index(fields=("state", "expires_at"), name="quote_by_state")]

    def __str__(self) -> str:
        return self.reference

    @property
    def reference(self) -> str:
        """Number and revision as printed, "Q-2026-0012 rev 2"."""
        return f"{self.series.number} rev {self.revision}"

    def money(self, minor: int) -> Money:
        return Money.from_minor(minor, self.currency)

    @property
    def net(self) -> Money:
        return self.money(self.net_minor)

    @property
    def tax(self) -> Money:
        return self.money(self.tax_minor)

    @property
    def gross(self) -> Money:
        return self.money(self.gross_minor)

    @property
    def deposit(self) -> Money:
        return self.money(self.deposit_minor)

    @property
    def balance(self) -> Money:
        return self.money(self.balance_minor)

    @property
    def cost(self) -> Money:
        return self.money(self.cost_minor)

    def is_open(self, now: datetime) -> bool:
        """Whether it can be accepted at this instant."""
        return self.state == self.State.SENT and self.expires_at is not None and now <= self.expires_at
