"""Freight zones: which countries, and what a crate costs there by weight."""

from django.db import models


class FreightZone(models.Model):
    """One zone. `countries` is a list of ISO 3166 two-letter codes, "*" for everywhere else.

    Amounts are minor units of `currency`; `dimensional_divisor` is cm3 per kg of charged weight.
    """

    code = models.SlugField(max_length=20, unique=True)
    name = models.CharField(max_length=80)
    order = models.PositiveIntegerField(default=1000)
    countries = models.JSONField(default=list)
    currency = models.CharField(max_length=3)
    base_minor = models.PositiveIntegerField()
    per_kg_minor = models.PositiveIntegerField()
    oversize_minor = models.PositiveIntegerField(default=0)
    oversize_length_mm = models.PositiveIntegerField(default=2000)
    dimensional_divisor = models.PositiveIntegerField(default=5000)
    days = models.PositiveSmallIntegerField(default=3)
    remark = models.TextField(blank=True)

    class Meta:
        ordering = ("order", "name")

    def __str__(self) -> str:
        return self.name
