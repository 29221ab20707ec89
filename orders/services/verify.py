"""Proof of the books: balance, chain, number series, ties between the journal and what it books."""

from collections.abc import Iterator
from dataclasses import dataclass
from importlib import import_module

from django.db import connection
from django.db.models import F, Sum

from orders.models import Invoice, JournalEntry, JournalLine, Order, Payment, Period
from orders.services import journal, postings

GUARDS = frozenset(
    name for name, *_ in import_module("orders.migrations.0002_guard_books_and_records").rules()
)
"""The triggers that must be in the database; a table rebuilt by a migration on SQLite would lose its own."""


def faults() -> Iterator[str]:
    """Every fault found, one sentence each; nothing when the books are in order."""
    yield from _guards()
    yield from _entries()
    yield from _numbers()
    yield from _ties()


def _guards() -> Iterator[str]:
    table = "sqlite_master WHERE type = 'trigger'" if connection.vendor == "sqlite" else "pg_trigger"
    column = "name" if connection.vendor == "sqlite" else "tgname"
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {column} FROM {table}")  # noqa: S608 - two fixed words
        there = {row[0] for row in cursor.fetchall()}
    for name in sorted(GUARDS - there):
        yield f"the trigger {name} is missing from the database"


def _entries() -> Iterator[str]:
    expected = 1
    for entry in JournalEntry.objects.order_by("number").prefetch_related("lines"):
        if entry.number != expected:
            yield f"journal number {expected} is missing"
            expected = entry.number
        expected += 1
        if not entry.posted:
            yield f"entry {entry.number} was left as a draft"
            continue
        sides = list(entry.lines.all())
        if len(sides) < 2:
            yield f"entry {entry.number} has fewer than two lines"
        for currency in {line.currency for line in sides}:
            off = sum(line.debit - line.credit for line in sides if line.currency == currency)
            if off:
                yield f"entry {entry.number} is off balance by {off} {currency} (minor units)"
        if entry.digest != journal.chained(entry):
            yield f"entry {entry.number} does not match its digest: it, or the one before, was altered"


def _numbers() -> Iterator[str]:
    series: dict[str, list[int]] = {}
    for number in Invoice.objects.order_by("id").values_list("number", flat=True):
        prefix, _, last = number.rpartition("-")
        series.setdefault(prefix, []).append(int(last))
    for prefix, given in series.items():
        missing = sorted(set(range(1, max(given) + 1)) - set(given))
        if missing:
            yield f"invoice series {prefix} has gaps at {missing[:5]}"


def _ties() -> Iterator[str]:
    for payment in Payment.objects.all():
        source = f"{'payment' if payment.amount > 0 else 'refund'} {payment.provider} {payment.fact}"
        if payment.fact.endswith(Payment.TAKEN_BACK):
            source = f"reversal of payment {payment.provider} {payment.fact.removesuffix(Payment.TAKEN_BACK)}"
        lines = JournalLine.objects.filter(
            entry__source=source, account__code=postings.money_account(payment.provider)
        )
        if (lines.aggregate(sum=Sum(F("debit") - F("credit")))["sum"] or 0) != payment.amount:
            yield f"{payment} is not in the journal with its amount"
    for order in Order.objects.all():
        yield from _of_order(order)


def _of_order(order: Order) -> Iterator[str]:
    """What an order's accounts must never show; one that has ended holds no deposit, tax of its own or open build."""
    found = postings.standing(order)
    at_end = {"held": found.held, "work": found.work}
    if order.state == Order.State.CANCELLED:
        at_end |= {"tax": found.tax, "receivable": found.receivable, "credit": found.credit}
    for name, value in at_end.items():
        if value and order.state in (Order.State.DISPATCHED, Order.State.CANCELLED):
            yield f"order {order.number} is {order.state} and still shows {value} {name} (minor units)"
    for name in ("held", "credit", "owed"):
        if getattr(found, name) < 0:
            yield f"order {order.number} shows {getattr(found, name)} {name}: less than nothing"


@dataclass(frozen=True, slots=True)
class TrialRow:
    """The posted debits and credits of one account in one currency, in minor units."""

    code: str
    name: str
    debits: int
    credits: int
    currency: str

    @property
    def debit(self) -> int:
        """By how much debits outweigh credits."""
        return max(self.debits - self.credits, 0)

    @property
    def credit(self) -> int:
        """By how much credits outweigh debits."""
        return max(self.credits - self.debits, 0)


def trial_balance(period: Period | None = None) -> list[TrialRow]:
    """Each account that was posted to, of one month or of all, in order of currency and code."""
    lines = JournalLine.objects.filter(entry__posted=True)
    if period is not None:
        lines = lines.filter(entry__period=period)
    rows = (
        lines.values_list("account__code", "account__name", "currency")
        .annotate(Sum("debit"), Sum("credit"))
        .order_by("currency", "account__code")
    )
    return [TrialRow(code, name, debits, credits, unit) for code, name, unit, debits, credits in rows]
