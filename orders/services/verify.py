"""Proof of the books: balance, chain, number series, ties between the journal and what it books."""

from collections.abc import Iterator
from importlib import import_module

from django.db import connection
from django.db.models import F, Sum

from orders.models import Invoice, JournalEntry, JournalLine, Order, Payment
from orders.services import chart, journal, postings

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
    for payment in Payment.objects.filter(kind=Payment.Kind.RECEIPT):
        lines = JournalLine.objects.filter(
            entry__source=f"payment {payment.provider} {payment.fact}",
            account__code=postings.money_account(payment.provider),
        )
        if (lines.aggregate(sum=Sum("debit"))["sum"] or 0) != payment.amount:
            yield f"payment {payment.provider} {payment.fact} is not in the journal with its amount"
    for order in Order.objects.filter(state__in=[Order.State.DISPATCHED, Order.State.CANCELLED]):
        held = postings.balance(chart.DEPOSITS, order_number=order.number)
        if held:
            yield f"order {order.number} is {order.state} and still holds deposits of {-held} (minor units)"


def trial_balance() -> list[tuple[str, str, int, int, str]]:
    """(account code, name, debits, credits, currency) of posted entries, in order of code."""
    rows = (
        JournalLine.objects.filter(entry__posted=True)
        .values(code=F("account__code"), name=F("account__name"), unit=F("currency"))
        .annotate(debits=Sum("debit"), credits=Sum("credit"))
        .order_by("code", "unit")
    )
    return [(r["code"], r["name"], r["debits"], r["credits"], r["unit"]) for r in rows]
