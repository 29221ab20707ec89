"""Triggers: a posted entry balances and is never changed; build record, audit trail, payments and invoices only grow."""

from django.db import migrations

ENTRY, LINE, PERIOD = "orders_journalentry", "orders_journalline", "orders_period"
KEPT = {
    "orders_stagerecord": "a build record",
    "orders_auditrecord": "the audit trail",
    "orders_payment": "a payment",
    "orders_invoice": "an issued invoice",
}
FEWER_THAN_TWO = f"(SELECT COUNT(*) FROM {LINE} WHERE entry_id = NEW.id) < 2"
UNBALANCED = (
    f"EXISTS (SELECT currency FROM {LINE} WHERE entry_id = NEW.id GROUP BY currency HAVING SUM(debit) <> SUM(credit))"
)
CLOSED = f"(SELECT state FROM {PERIOD} WHERE id = NEW.period_id) <> 'open'"
NOW_POSTED = "NEW.posted AND NOT OLD.posted"


def rules():
    """(trigger, table, event, condition, message), the same on both databases."""
    yield "entry_begins_as_draft", ENTRY, "INSERT", "NEW.posted", "a journal entry begins as a draft"
    yield (
        "entry_is_not_replaced", ENTRY, "INSERT",
        f"EXISTS (SELECT 1 FROM {ENTRY} WHERE id = NEW.id OR number = NEW.number OR source = NEW.source)",
        "this fact or number is in the journal already",
    )
    yield "entry_posted_is_kept", ENTRY, "UPDATE", "OLD.posted", "a posted journal entry is never changed"
    yield "entry_has_two_lines", ENTRY, "UPDATE", f"{NOW_POSTED} AND {FEWER_THAN_TWO}", "an entry needs two lines or more"
    yield "entry_balances", ENTRY, "UPDATE", f"{NOW_POSTED} AND {UNBALANCED}", "debits and credits differ"
    yield "entry_in_open_period", ENTRY, "UPDATE", f"{NOW_POSTED} AND {CLOSED}", "the period is closed"
    yield "entry_is_chained", ENTRY, "UPDATE", f"{NOW_POSTED} AND NEW.digest = ''", "a posted entry carries its digest"
    yield "entry_is_not_deleted", ENTRY, "DELETE", "1 = 1", "a journal entry is never deleted"
    yield (
        "line_of_posted_entry", LINE, "INSERT", f"(SELECT posted FROM {ENTRY} WHERE id = NEW.entry_id)",
        "a posted journal entry takes no further line",
    )
    yield (
        "line_is_not_replaced", LINE, "INSERT",
        f"EXISTS (SELECT 1 FROM {LINE} WHERE id = NEW.id OR (entry_id = NEW.entry_id AND position = NEW.position))",
        "this journal line is written already",
    )
    yield "line_is_kept", LINE, "UPDATE", "1 = 1", "a journal line is never changed"
    yield "line_is_not_deleted", LINE, "DELETE", "1 = 1", "a journal line is never deleted"
    for table, what in KEPT.items():
        yield f"{table}_is_kept", table, "UPDATE", "1 = 1", f"{what} is never changed"
        yield f"{table}_is_not_deleted", table, "DELETE", "1 = 1", f"{what} is never deleted"


def make_sqlite(execute):
    for name, table, event, condition, message in rules():
        execute(
            f"CREATE TRIGGER {name} BEFORE {event} ON {table} WHEN {condition}"
            f" BEGIN SELECT RAISE(ABORT, '{message}'); END"
        )


def raising(execute, name, condition, message, kept):
    execute(
        f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $body$ BEGIN"
        f" IF {condition} THEN RAISE EXCEPTION '{message}' USING ERRCODE = 'integrity_constraint_violation'; END IF;"
        f" RETURN {kept}; END $body$"
    )


def make_postgresql(execute):
    for name, table, event, condition, message in rules():
        raising(execute, name, condition, message, "OLD" if event == "DELETE" else "NEW")
        execute(f"CREATE TRIGGER {name} BEFORE {event} ON {table} FOR EACH ROW EXECUTE FUNCTION {name}()")
    raising(execute, "books_are_not_emptied", "1 = 1", "the books are never emptied", "NULL")
    for table in (ENTRY, LINE, *KEPT):
        execute(
            f"CREATE TRIGGER {table}_not_emptied BEFORE TRUNCATE ON {table}"
            " FOR EACH STATEMENT EXECUTE FUNCTION books_are_not_emptied()"
        )
    raising(
        execute, "no_draft_is_left", f"EXISTS (SELECT 1 FROM {ENTRY} WHERE id = NEW.id AND NOT posted)",
        "a journal entry was left as a draft", "NULL",
    )
    execute(
        f"CREATE CONSTRAINT TRIGGER no_draft_is_left AFTER INSERT ON {ENTRY} DEFERRABLE INITIALLY DEFERRED"
        " FOR EACH ROW EXECUTE FUNCTION no_draft_is_left()"
    )


def make(apps, schema_editor):
    # execute(sql, None) leaves percent signs alone
    def execute(sql):
        schema_editor.execute(sql, None)

    if schema_editor.connection.vendor == "sqlite":
        make_sqlite(execute)
    elif schema_editor.connection.vendor == "postgresql":
        make_postgresql(execute)
    else:
        raise NotImplementedError("the service runs on SQLite or PostgreSQL")


def drop(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        for name, *_ in rules():
            schema_editor.execute(f"DROP TRIGGER {name}", None)
        return
    for name, *_ in rules():
        schema_editor.execute(f"DROP FUNCTION {name}() CASCADE", None)
    for name in ("books_are_not_emptied", "no_draft_is_left"):
        schema_editor.execute(f"DROP FUNCTION {name}() CASCADE", None)


class Migration(migrations.Migration):
    dependencies = [("orders", "0001_lay_enquiry_to_books")]
    operations = [migrations.RunPython(make, drop)]
