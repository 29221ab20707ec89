"""Triggers: a sent quote and a price book in force are never edited or deleted, on SQLite and PostgreSQL alike."""

from django.db import migrations

QUOTE_CONTENT = (
    "id series_id revision token drafted_at typed specification results overridden override_reason message currency"
    " net_minor tax_minor gross_minor deposit_minor balance_minor cost_minor price_book_id model_version plan_version"
    " promised_for issued_at expires_at terms_version content_hash sent_by_id"
).split()
QUOTE_DECISION = "decided_at decided_by decision_reason decision_hash".split()
QUOTE_STEPS = (
    "(OLD.state = 'sent' AND NEW.state IN ('superseded', 'accepted', 'declined', 'lapsed'))"
    " OR (OLD.state IN ('declined', 'lapsed') AND NEW.state = 'superseded')"
)
BOOK_CONTENT = "id version currency effective_from created_at".split()


def differs(columns, word):
    return " OR ".join(f"OLD.{column} {word} NEW.{column}" for column in columns)


def rules(word):
    """(trigger, table, event, condition, message) with `word` the vendor's null-safe inequality."""
    decided = differs(QUOTE_DECISION, word)
    yield (
        "quote_sent_is_kept", "quoting_quote", "UPDATE",
        f"OLD.state <> 'drafted' AND ({differs(QUOTE_CONTENT, word)}"
        f" OR (OLD.state <> NEW.state AND NOT ({QUOTE_STEPS}))"
        f" OR (OLD.decided_at IS NOT NULL AND ({decided})))",
        "a sent quote is never changed",
    )
    yield (
        "quote_draft_is_sent_first", "quoting_quote", "UPDATE",
        "OLD.state = 'drafted' AND NEW.state NOT IN ('drafted', 'sent')",
        "a drafted quote is sent before anything else becomes of it",
    )
    yield (
        "quote_sent_is_not_deleted", "quoting_quote", "DELETE", "OLD.state <> 'drafted'",
        "a sent quote is never deleted",
    )
    yield (
        "book_in_force_is_kept", "quoting_pricebookversion", "UPDATE",
        f"OLD.state <> 'draft' AND ({differs(BOOK_CONTENT, word)}"
        " OR (OLD.state <> NEW.state AND NOT (OLD.state = 'in force' AND NEW.state = 'retired')))",
        "a price book in force is never edited",
    )
    yield (
        "book_in_force_is_not_deleted", "quoting_pricebookversion", "DELETE", "OLD.state <> 'draft'",
        "a price book in force is never deleted",
    )


def of_draft(row):
    return f"(SELECT state FROM quoting_pricebookversion WHERE id = {row}.book_id) <> 'draft'"


def entry_rules():
    message = "an entry of a price book in force is never changed"
    yield "entry_added_to_book_in_force", "quoting_pricebookentry", "INSERT", of_draft("NEW"), message
    yield (
        "entry_of_book_in_force_is_kept", "quoting_pricebookentry", "UPDATE", f"{of_draft('OLD')} OR {of_draft('NEW')}",
        message,
    )
    yield "entry_of_book_in_force_is_not_deleted", "quoting_pricebookentry", "DELETE", of_draft("OLD"), message


def make_sqlite(execute):
    for name, table, event, condition, message in [*rules("IS NOT"), *entry_rules()]:
        execute(
            f"CREATE TRIGGER {name} BEFORE {event} ON {table} WHEN {condition}"
            f" BEGIN SELECT RAISE(ABORT, '{message}'); END"
        )


def make_postgresql(execute):
    for name, table, event, condition, message in [*rules("IS DISTINCT FROM"), *entry_rules()]:
        kept = "OLD" if event == "DELETE" else "NEW"
        execute(
            f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $body$ BEGIN"
            f" IF {condition} THEN RAISE EXCEPTION '{message}' USING ERRCODE = 'integrity_constraint_violation'; END IF;"
            f" RETURN {kept}; END $body$"
        )
        execute(f"CREATE TRIGGER {name} BEFORE {event} ON {table} FOR EACH ROW EXECUTE FUNCTION {name}()")


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
    on_postgresql = schema_editor.connection.vendor == "postgresql"
    for name, table, *_ in [*rules("IS NOT"), *entry_rules()]:
        schema_editor.execute(f"DROP TRIGGER {name}" + (f" ON {table}" if on_postgresql else ""), None)
        if on_postgresql:
            schema_editor.execute(f"DROP FUNCTION {name}()", None)


class Migration(migrations.Migration):
    dependencies = [("quoting", "0001_lay_catalogue_price_books_and_quotes")]
    operations = [migrations.RunPython(make, drop)]
