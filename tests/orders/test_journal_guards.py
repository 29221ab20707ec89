"""The database itself refuses what would falsify the books, whoever asks and by whatever way."""

import pytest
from django.db import DatabaseError, connection, transaction

from orders.models import AuditRecord, Invoice, JournalEntry, JournalLine, Payment, Period, StageRecord
from orders.services import chart, journal, verify
from orders.services.journal import credit, debit
from orders.who import THE_SERVICE


@pytest.fixture
def posted(either):
    return journal.post(
        THE_SERVICE, "a fact", [debit(chart.BANK, 500), credit(chart.DEPOSITS, 500)],
        text="Deposit", currency="EUR", today=either.today, now=either.now,
    )  # fmt: skip


def refused(act) -> bool:
    with pytest.raises(DatabaseError), transaction.atomic():
        act()
    return True


def sql(statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement)


def test_a_posted_entry_is_not_changed_or_deleted_by_the_orm(posted):
    entry, line = JournalEntry.objects.filter(pk=posted.pk), JournalLine.objects.filter(entry=posted)
    assert refused(lambda: entry.update(text="other"))
    assert refused(lambda: entry.update(posted=False))
    assert refused(lambda: line.update(debit=1))
    assert refused(lambda: JournalLine.objects.bulk_update([line.first()], ["position"]))
    assert refused(lambda: line.delete())
    assert refused(lambda: entry._raw_delete("default"))
    assert list(verify.faults()) == []


def test_a_posted_entry_is_not_changed_by_sql(posted):
    for statement in (
        "UPDATE orders_journalentry SET text = 'x'",
        "UPDATE orders_journalline SET credit = credit + 1",
        "DELETE FROM orders_journalline",
        "DELETE FROM orders_journalentry",
        "INSERT INTO orders_journalline (entry_id, position, account_id, debit, credit, currency)"
        " SELECT entry_id, 9, account_id, debit, credit, currency FROM orders_journalline WHERE debit > 0",
    ):
        assert refused(lambda s=statement: sql(s)), statement
    assert posted.lines.count() == 2


COLUMNS = (
    "id, number, source, period_id, document_date, posting_date, text, order_number, posted, posted_by,"
    " created_at, digest"
)
COPY = f"INTO orders_journalentry ({COLUMNS}) SELECT {COLUMNS.replace('posted,', 'false,')} FROM orders_journalentry"  # noqa: S608


def test_replacing_a_row_does_not_slip_past(posted, either):
    if either.vendor == "sqlite":
        assert refused(lambda: sql(f"INSERT OR REPLACE {COPY}"))
    assert refused(lambda: sql(f"INSERT {COPY} WHERE true ON CONFLICT (id) DO UPDATE SET posted = false"))
    posted.refresh_from_db()
    assert posted.posted


def test_the_books_are_not_emptied(posted, either):
    if either.vendor == "postgres":
        assert refused(lambda: sql("TRUNCATE orders_journalentry CASCADE"))
    assert JournalEntry.objects.count() == 1


@pytest.mark.parametrize(
    "sides",
    [
        [debit(chart.BANK, 500), credit(chart.DEPOSITS, 499)],
        [debit(chart.BANK, 500)],
        [],
    ],
    ids=["off by one", "one side", "no side"],
)
def test_an_entry_that_does_not_balance_is_not_posted(either, sides):
    assert refused(
        lambda: journal.post(
            THE_SERVICE, "a fact", sides, text="x", currency="EUR", today=either.today, now=either.now
        )
    )
    assert JournalEntry.objects.count() == 0


def test_a_currency_does_not_make_up_for_another(posted, either):
    def post_mixed() -> None:
        entry = JournalEntry.objects.create(
            number=2, source="mixed", period=posted.period, document_date=either.today,
            posting_date=either.today, text="x", posted_by="x", created_at=either.now, digest="x",
        )  # fmt: skip
        bank = chart.account(chart.BANK)
        JournalLine.objects.create(entry=entry, position=1, account=bank, debit=7, currency="EUR")
        JournalLine.objects.create(entry=entry, position=2, account=bank, credit=7, currency="USD")
        JournalEntry.objects.filter(pk=entry.pk).update(posted=True)

    assert refused(post_mixed)


def test_a_line_has_exactly_one_positive_side(posted):
    for amounts in ((5, 5), (0, 0), (-5, 0)):
        line = JournalLine(entry=posted, position=7, account=chart.account(chart.BANK), currency="EUR")
        line.debit, line.credit = amounts
        assert refused(lambda row=line: row.save())


def test_no_entry_is_posted_into_a_closed_period(posted, either):
    draft = {"text": "x", "posted_by": "x", "created_at": either.now, "digest": "x"}
    Period.objects.filter(pk=posted.period_id).update(state="closed")

    def post_anyway() -> None:
        entry = JournalEntry.objects.create(
            number=2, source="late", period=posted.period,
            document_date=either.today, posting_date=either.today, **draft,
        )  # fmt: skip
        for position, (one, other) in enumerate(((7, 0), (0, 7)), start=1):
            JournalLine.objects.create(
                entry=entry, position=position, account=chart.account(chart.BANK),
                debit=one, credit=other, currency="EUR",
            )  # fmt: skip
        JournalEntry.objects.filter(pk=entry.pk).update(posted=True)

    assert refused(post_anyway)


def test_build_records_audit_payments_and_invoices_only_grow(either):
    either.dispatched()
    for model, change in (
        (StageRecord, {"minutes": 1}),
        (AuditRecord, {"reason": "x"}),
        (Payment, {"amount": 1}),
        (Invoice, {"net": 1}),
    ):
        assert model.objects.exists()
        assert refused(lambda m=model, c=change: m.objects.update(**c)), model
        assert refused(lambda m=model: m.objects.all()._raw_delete("default")), model


def test_every_guard_is_in_the_database_and_a_missing_one_is_named(either):
    assert list(verify.faults()) == []
    on = "" if either.vendor == "sqlite" else " ON orders_journalentry"
    sql(f"DROP TRIGGER entry_balances{on}")
    assert list(verify.faults()) == ["the trigger entry_balances is missing from the database"]


def test_a_changed_byte_behind_the_triggers_is_reported_with_its_entry(posted, either):
    on = "" if either.vendor == "sqlite" else " ON orders_journalentry"
    sql(f"DROP TRIGGER entry_posted_is_kept{on}")
    sql("UPDATE orders_journalentry SET text = 'Deposlt'")
    assert "entry 1 does not match its digest: it, or the one before, was altered" in list(verify.faults())
