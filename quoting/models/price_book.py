"""Price books: versions with an effective date, and their entries. A book in force is never edited: triggers refuse it."""

from decimal import Decimal

from django.db import models
from django.db.models import Q


class PriceBookVersion(models.Model):
    """One version of the price book; only a draft may be changed."""

    class State(models.TextChoices):
        DRAFT = "draft", "draft"
        IN_FORCE = "in force", "in force"

    version = models.CharField(max_length=20, unique=True)
    currency = models.CharField(max_length=3)
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    effective_from = models.DateField(null=True, blank=True)
    remark = models.TextField(blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("-effective_from", "-id")
        constraints = [
            models.CheckConstraint(
                name="price_book_in_force_has_a_date",
                condition=Q(state="draft") | Q(effective_from__isnull=False),
            ),
            models.UniqueConstraint(
                name="one_price_book_in_force_per_date",
                fields=("effective_from",),
                condition=Q(state="in force"),
            ),
        ]

    def __str__(self) -> str:
        return f"price book {self.version}"

    @property
    def is_draft(self) -> bool:
        return self.state == self.State.DRAFT


class PriceBookEntry(models.Model):
    """One coefficient or rate with the sentence that explains it and the owner's own bounds.

    `scaled`, `low_scaled` and `high_scaled` are whole numbers of the sub-unit 10**-`decimals` of `unit`.
    """

    book = models.ForeignKey(PriceBookVersion, on_delete=models.CASCADE, related_name="entries")
    key = models.CharField(max_length=60)
    scaled = models.BigIntegerField()
    low_scaled = models.BigIntegerField()
    high_scaled = models.BigIntegerField()
    decimals = models.PositiveSmallIntegerField()
    unit = models.CharField(max_length=40)
    sentence = models.TextField()

    class Meta:
        ordering = ("key",)
        constraints = [
            models.UniqueConstraint(name="price_book_key_once", fields=("book", "key")),
            models.CheckConstraint(name="price_book_decimals_sane", condition=Q(decimals__lte=9)),
            models.CheckConstraint(
                name="price_book_value_in_bounds",
                condition=Q(scaled__gte=models.F("low_scaled")) & Q(scaled__lte=models.F("high_scaled")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key} = {self.value} {self.unit}"

    @property
    def value(self) -> Decimal:
        return Decimal(self.scaled).scaleb(-self.decimals)

    @property
    def low(self) -> Decimal:
        return Decimal(self.low_scaled).scaleb(-self.decimals)

    @property
    def high(self) -> Decimal:
        return Decimal(self.high_scaled).scaleb(-self.decimals)
