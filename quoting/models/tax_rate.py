"""The owner's tax table: a rate by destination and date. It defers to the owner's accountant."""

from datetime import date
from decimal import Decimal

from django.db import models
from django.db.models import Q


class TaxRate(models.Model):
    """One rate: `percent_milli` is thousandths of a percent, so 8.25 % is 8250. `country` "*" stands for everywhere else."""

    code = models.CharField(max_length=20)
    label = models.CharField(max_length=80)
    country = models.CharField(max_length=2)
    region = models.CharField(max_length=40, blank=True)
    percent_milli = models.PositiveIntegerField()
    valid_from = models.DateField()
    valid_to = models.DateField(null=True, blank=True)
    remark = models.TextField(blank=True)

    class Meta:
        ordering = ("country", "region", "code", "valid_from")
        constraints = [
            models.UniqueConstraint(
                name="tax_rate_once_per_day", fields=("country", "region", "code", "valid_from")
            ),
            models.CheckConstraint(
                name="tax_rate_below_hundred_percent", condition=Q(percent_milli__lt=100_000)
            ),
            models.CheckConstraint(
                name="tax_rate_ends_after_it_begins",
                condition=Q(valid_to__isnull=True) | Q(valid_to__gte=models.F("valid_from")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.label} {self.percent.normalize():f} %"

    @property
    def percent(self) -> Decimal:
        return Decimal(self.percent_milli).scaleb(-3)

    def holds_on(self, day: date) -> bool:
        return self.valid_from <= day and (self.valid_to is None or day <= self.valid_to)
