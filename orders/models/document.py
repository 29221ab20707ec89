"""Papers and drawings made by the worker: the file, its fingerprint and what it belongs to."""

from typing import ClassVar

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
        DRAWING = "drawing", "drawing"
        DRILL_TEMPLATE = "drill-template", "drill template"
        DRILL_DXF = "drill-dxf", "drill pattern as DXF"
        STATION_TEMPLATE = "station-template", "station templates"
        STATION_DXF = "station-dxf", "stations as DXF"
        SOLID = "solid", "solid with its laminations"
        MOCK_UP = "mock-up", "picture of the solid"

    WORKSHOP_ONLY = (
        Kind.BUILD_CARD,
        Kind.DRILL_TEMPLATE,
        Kind.DRILL_DXF,
        Kind.STATION_TEMPLATE,
        Kind.STATION_DXF,
        Kind.SOLID,
    )
    """What guides the hand at the bench and is not handed out."""
    OF_THE_SALE = (Kind.QUOTE, Kind.INVOICE)
    """What carries prices and is not for the bench."""
    FORMATS: ClassVar[dict[str, tuple[str, str]]] = {
        Kind.DRILL_DXF: ("dxf", "image/vnd.dxf"),
        Kind.STATION_DXF: ("dxf", "image/vnd.dxf"),
        Kind.SOLID: ("glb", "model/gltf-binary"),
        Kind.MOCK_UP: ("png", "image/png"),
    }
    """Ending and media type of what is no PDF."""

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

    @property
    def file_name(self) -> str:
        """The name it is kept and given out under."""
        words = "".join(c if c.isalnum() else "-" for c in f"{self.kind}-{self.subject}")
        return f"{words}.{self.FORMATS.get(self.kind, ('pdf', ''))[0]}"

    @property
    def media_type(self) -> str:
        return self.FORMATS.get(self.kind, ("", "application/pdf"))[1]
