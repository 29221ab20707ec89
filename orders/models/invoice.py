"""Invoices: numbered without gaps, carrying their own snapshot of seller, buyer, lines and totals."""

from django.db import models
from django.db.models import Q

from orders.models.order import Order


class Invoice(models.Model):
    """An issued document; never changed. `type_code` is UNTDID 1001: 380 invoice, 381 credit note, 383 debit note.

    Totals are EN 16931's: net BT-109, tax BT-110, gross BT-112, prepaid BT-113, due BT-115; minor units.
    """

    class TypeCode(models.TextChoices):
        INVOICE = "380", "invoice"
        CREDIT_NOTE = "381", "credit note"
        DEBIT_NOTE = "383", "debit note"

    number = models.CharField(max_length=24, unique=True)
    type_code = models.CharField(max_length=3, choices=TypeCode.choices, default=TypeCode.INVOICE)
    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="invoices")
    corrects = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="corrections"
    )
    issued_on = models.DateField()
    due_on = models.DateField()
    currency = models.CharField(max_length=3)
    seller = models.JSONField()
    buyer = models.JSONField()
    lines = models.JSONField()
    taxes = models.JSONField()
    net = models.BigIntegerField()
    tax = models.BigIntegerField()
    gross = models.BigIntegerField()
    prepaid = models.BigIntegerField(default=0)
    due = models.BigIntegerField()
    content_hash = models.CharField(max_length=64)
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(gross=models.F("net") + models.F("tax")), name="invoice_gross_adds_up"
            ),
            models.CheckConstraint(
                condition=Q(due=models.F("gross") - models.F("prepaid")), name="invoice_due_adds_up"
            ),
            models.UniqueConstraint(
                fields=["order"], condition=Q(type_code="380"), name="one_invoice_per_order"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_type_code_display()} {self.number}"
