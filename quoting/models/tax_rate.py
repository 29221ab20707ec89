"""The owner's tax table: a rate by destination and date. It defers to the owner's accountant."""

import re
from datetime import date
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from quoting.pricing.lines import Category


class TaxRate(models.Model):
    """One rate: `percent_milli` is thousandths of a percent, so 8.25 % is 8250. `country` "*" is everywhere else.

    `categories` limits it to price lines of those categories; a rate without them holds for all others.
    """

    code = models.CharField(max_length=20)
    label = models.CharField(max_length=80)
    country = models.CharField(max_length=2)
    percent_milli = models.PositiveIntegerField()
    valid_from = models.DateField()
    valid_to = models.DateField(null=True, blank=True)
    categories = models.JSONField(default=list, blank=True)
    remark = models.TextField(blank=True)

    class Meta:
        ordering = ("country", "code", "valid_from")
        constraints = [
            models.UniqueConstraint(name="tax_rate_once_per_day", fields=("country", "code", "valid_from")),
            models.CheckConstraint(
                name="tax_rate_at_most_hundred_percent", condition=Q(percent_milli__lte=100_000)
            ),
            models.CheckConstraint(
                name="tax_rate_ends_after_it_begins",
                condition=Q(valid_to__isnull=True) | Q(valid_to__gte=models.F("valid_from")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.label} {self.percent.normalize():f} %"

    def clean(self) -> None:
        """Raises ValidationError at the field for what the price could not use."""
        if not re.fullmatch(r"[A-Z]{2}|\*", self.country):
            raise ValidationError(
                {"country": "Give two capital letters such as DE, or * for everywhere else."}
            )
        known = [str(category) for category in Category]
        if not isinstance(self.categories, list) or any(c not in known for c in self.categories):
            raise ValidationError(
                {"categories": f"Give a list of categories among {', '.join(known)}, or []."}
            )

    @property
    def percent(self) -> Decimal:
        return Decimal(self.percent_milli).scaleb(-3)

    def holds_on(self, day: date) -> bool:
        return self.valid_from <= day and (self.valid_to is None or day <= self.valid_to)
