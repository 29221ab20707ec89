"""The audit trail: who did what, when, from which state to which, and why. It only grows."""

from django.conf import settings
from django.db import models


class AuditRecord(models.Model):
    """One change. `subject` is the kind and number of the row ("order O-1042"), or the name of a thing of the shop."""

    at = models.DateTimeField()
    user = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT)
    name = models.CharField(max_length=120)
    verb = models.CharField(max_length=40)
    subject = models.CharField(max_length=200, db_index=True)
    before = models.CharField(max_length=20, blank=True)
    after = models.CharField(max_length=20, blank=True)
    reason = models.TextField(blank=True)
    detail = models.JSONField(default=dict)

    class Meta:
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return f"{self.name}: {self.verb} {self.subject}"
