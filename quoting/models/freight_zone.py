"""Freight zones: which countries belong together; the price book holds the rates under the zone's code."""

import re

from django.core.exceptions import ValidationError
from django.db import models


class FreightZone(models.Model):
    """One zone. `countries` holds ISO 3166 two-letter codes, "*" for everywhere else; `days` is the usual transit."""

    code = models.SlugField(max_length=20, unique=True)
    name = models.CharField(max_length=80)
    order = models.PositiveIntegerField(default=1000)
    countries = models.JSONField(default=list)
    days = models.PositiveSmallIntegerField(default=3)
    remark = models.TextField(blank=True)

    class Meta:
        ordering = ("order", "name")

    def clean(self) -> None:
        """Raises ValidationError when the countries are no list of codes."""
        countries = self.countries
        if not isinstance(countries, list) or any(
            not isinstance(c, str) or not re.fullmatch(r"[A-Z]{2}|\*", c) for c in countries
        ):
            raise ValidationError(
                {"countries": 'Give a list such as ["DE", "AT"], or ["*"] for everywhere else.'}
            )

    def __str__(self) -> str:
        return self.name
