"""Papers made by the worker: the file, its fingerprint and what it belongs to."""

from django.db import models

from orders.models.invoice import Invoice
from orders.models.order import Order
from orders.models.propeller import Propeller


class Document(models.Model):
    """One paper. The same subject always gives the same bytes; `sha256` shows it."""

    class Kind(models.TextChoices):
        QUOTE = "quote", "quote"
        INVOICE = "invoice", "invoice"
        BUILD_CARD = "build-card", "build card"
        BUILD_RECORD = "build-record", "build record"
        CARE_SHEET = "care-sheet", "care sheet"
        PACKING_LIST = "packing-list", "packing list"

    kind = models.CharField(max_length=16, choices=Kind.choices)
    subject = models.CharField(max_length=80)
    quote = models.ForeignKey(
        "quoting.Quote", null=True, blank=True, on_delete=models.PROTECT, related_name="documents"
    )
    order = models.ForeignKey(
        Order, null=True, blank=True, on_delete=models.PROTECT, related_name="documents"
    )
    invoice = models.ForeignKey(
        Invoice, null=True, blank=True, on_delete=models.PROTECT, related_name="documents"
    )
    propeller = models.ForeignKey(
        Propeller, null=True, blank=True, on_delete=models.PROTECT, related_name="documents"
    )
    file = models.FileField(upload_to="papers/")
    sha256 = models.CharField(max_length=64)
    made_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["kind", "subject"], name="one_paper_per_subject")]

    def __str__(self) -> str:
        return f"{self.kind} {self.subject}"
