"""Timber on the shelf: a lot of one species, with its boards, its moisture when it came and what it cost."""

from django.db import models


class TimberLot(models.Model):
    """One lot. `timber_code` is the catalogue's; `moisture` in tenths of a percent, `price` in minor units."""

    lot = models.CharField(max_length=30, unique=True)
    timber_code = models.CharField(max_length=40)
    boards = models.CharField(max_length=160, blank=True)
    board_feet = models.PositiveIntegerField()
    moisture = models.PositiveSmallIntegerField()
    price = models.PositiveBigIntegerField(null=True, blank=True)
    received_on = models.DateField()
    used_up_on = models.DateField(null=True, blank=True)
    remark = models.CharField(max_length=160, blank=True)

    class Meta:
        ordering = ["timber_code", "received_on", "lot"]

    def __str__(self) -> str:
        return f"{self.lot} {self.timber_code}"
