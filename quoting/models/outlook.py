"""What the last plan says to newcomers: one stored row per plan version."""

from django.db import models


class PlanOutlook(models.Model):
    """The outlook of one plan version as JSON (see `quoting.services.outlook`); the newest answers."""

    version = models.CharField(max_length=64, unique=True)
    as_of = models.DateTimeField(db_index=True)
    outlook = models.JSONField()

    class Meta:
        ordering = ("-as_of", "-id")

    def __str__(self) -> str:
        return f"outlook {self.version}"
