"""The double-entry journal. The database itself refuses an unbalanced entry or a change of a posted one (guards.py)."""

from django.db import models
from django.db.models import Q


class Account(models.Model):
    """One account of the chart."""

    class Kind(models.TextChoices):
        ASSET = "asset", "asset"
        LIABILITY = "liability", "liability"
        INCOME = "income", "income"
        EXPENSE = "expense", "expense"
        EQUITY = "equity", "equity"

    code = models.CharField(max_length=12, unique=True)
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=10, choices=Kind.choices)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class Period(models.Model):
    """One month of the books. A closed one takes no more entries."""

    class State(models.TextChoices):
        OPEN = "open", "open"
        CLOSED = "closed", "closed"

    first_day = models.DateField(unique=True)
    state = models.CharField(max_length=6, choices=State.choices, default=State.OPEN)
    changed_at = models.DateTimeField()
    changed_by = models.CharField(max_length=120)

    class Meta:
        ordering = ["first_day"]

    def __str__(self) -> str:
        return f"{self.first_day:%Y-%m} ({self.state})"


class JournalEntry(models.Model):
    """One entry: written as a draft, given its lines, then marked posted, all in one transaction.

    `source` names the fact it books and is unique, so that no fact is booked twice. `digest` chains the entries.
    """

    number = models.PositiveBigIntegerField(unique=True)
    source = models.CharField(max_length=160, unique=True)
    period = models.ForeignKey(Period, on_delete=models.PROTECT, related_name="entries")
    document_date = models.DateField()
    posting_date = models.DateField()
    text = models.CharField(max_length=200)
    order_number = models.CharField(max_length=20, blank=True, db_index=True)
    reverses = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="reversed_by"
    )
    posted = models.BooleanField(default=False)
    posted_by = models.CharField(max_length=120)
    created_at = models.DateTimeField()
    digest = models.CharField(max_length=64, blank=True)

    class Meta:
        ordering = ["number"]
        verbose_name_plural = "journal entries"

    def __str__(self) -> str:
        return f"{self.number} {self.text}"


class JournalLine(models.Model):
    """One side of an entry: either a debit or a credit, positive minor units."""

    entry = models.ForeignKey(JournalEntry, on_delete=models.PROTECT, related_name="lines")
    position = models.PositiveSmallIntegerField()
    account = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="lines")
    debit = models.BigIntegerField(default=0)
    credit = models.BigIntegerField(default=0)
    currency = models.CharField(max_length=3)

    class Meta:
        ordering = ["entry", "position"]
        constraints = [
            models.UniqueConstraint(fields=["entry", "position"], name="one_line_per_position"),
            models.CheckConstraint(
                condition=Q(debit__gt=0, credit=0) | Q(debit=0, credit__gt=0), name="one_positive_side"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.account.code} {self.debit or -self.credit} {self.currency}"
