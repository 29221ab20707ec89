"""Timber on the shelf: a lot of one species, with its moisture when it came."""

from django.db import models


class TimberLot(models.Model):
    """One lot. `timber_code` is the catalogue's; `moisture` in tenths of a percent."""

    lot = models.CharField(max_length=30, unique=True)
    timber_code = models.CharField(max_length=40)
    board_feet = models.PositiveIntegerField()
    moisture = models.PositiveSmallIntegerField()
    received_on = models.DateField()
    remark = models.CharField(max_length=160, blank=True)

    def __str__(self) -> str:
        return f"{self.lot} {self.timber_code}"
