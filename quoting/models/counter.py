"""Gapless numbers: one row per series of numbers, raised inside the transaction that uses the number."""

from django.db import models


class Counter(models.Model):
    """The last number given out in a series."""

    name = models.CharField(max_length=40, unique=True)
    last = models.PositiveBigIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.name}: {self.last}"
