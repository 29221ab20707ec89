"""Catalogue rows: timbers, engines, airframes, hub patterns and what is chosen with them, each figure with its source.

All kinds share one shape: `values` holds the fields of the kind's frozen dataclass, every physical quantity as
{"value": SI, "trust": ..., "source": ..., "entered": [number, unit]} or null where no source gives it.
"""

import secrets
from typing import ClassVar, Self

from django.core.validators import RegexValidator
from django.db import models

CODE_PATTERN = r"\A[a-z0-9]+(-[a-z0-9]+)*\Z"


class EnteredBy(models.TextChoices):
    """Who answers for a row: rows of the owner are never touched by loading the catalogue again."""

    CATALOGUE = "catalogue", "the catalogue's files"
    OWNER = "owner", "the owner"


class CatalogueRow(models.Model):
    """One row of the catalogue. `offered` False keeps a row for old quotes and takes it off the ask page."""

    code = models.CharField(
        max_length=60,
        unique=True,
        validators=[RegexValidator(CODE_PATTERN, "small letters, digits and single dashes")],
    )
    name = models.CharField(max_length=120)
    order = models.PositiveIntegerField(default=1000)
    offered = models.BooleanField(default=True)
    entered_by = models.CharField(max_length=10, choices=EnteredBy.choices, default=EnteredBy.OWNER)
    values = models.JSONField(default=dict)

    objects: ClassVar[models.Manager[Self]] = models.Manager()

    class Meta:
        abstract = True
        ordering = ("order", "name")

    def __str__(self) -> str:
        return self.name


class Timber(CatalogueRow):
    """A timber with its strengths, density and movement."""


class Engine(CatalogueRow):
    """An engine with rating, gear, rotation, flanges and limits."""


class Airframe(CatalogueRow):
    """An airframe with speeds, usual engines and propeller limits."""


class HubPattern(CatalogueRow):
    """A bolt pattern and the boss that goes with it; missing dimensions stay missing."""


class Glue(CatalogueRow):
    """A laminating glue."""


class Finish(CatalogueRow):
    """A finish."""


class EdgeGuard(CatalogueRow):
    """A leading-edge guard."""


class TipForm(CatalogueRow):
    """An outline of the blade's end, in words for the customer."""


def new_stamp() -> str:
    return secrets.token_hex(12)


class CatalogueStamp(models.Model):
    """One row with a random word, renewed with every change of the catalogue: processes that hold it in memory look here."""

    stamp = models.CharField(max_length=24, default=new_stamp)

    def __str__(self) -> str:
        return self.stamp
