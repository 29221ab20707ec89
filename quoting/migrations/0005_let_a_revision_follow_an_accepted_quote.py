"""The trigger that keeps sent quotes lets an accepted one be superseded, by the revision its order takes."""

from importlib import import_module

from django.db import migrations

BEFORE = import_module("quoting.migrations.0002_keep_sent_quotes_and_books_in_force")
NAME, TABLE = "quote_sent_is_kept", "quoting_quote"
STEPS = f"{BEFORE.QUOTE_STEPS} OR (OLD.state = 'accepted' AND NEW.state = 'superseded')"


def condition(word, steps):
    return (
        f"OLD.state <> 'drafted' AND ({BEFORE.differs(BEFORE.QUOTE_CONTENT, word)}"
        f" OR (OLD.state <> NEW.state AND NOT ({steps}))"
        f" OR (OLD.decided_at IS NOT NULL AND ({BEFORE.differs(BEFORE.QUOTE_DECISION, word)})))"
    )


def replace(schema_editor, steps):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(
            f"CREATE OR REPLACE FUNCTION {NAME}() RETURNS trigger LANGUAGE plpgsql AS $body$ BEGIN"
            f" IF {condition('IS DISTINCT FROM', steps)} THEN RAISE EXCEPTION 'a sent quote is never changed'"
            " USING ERRCODE = 'integrity_constraint_violation'; END IF; RETURN NEW; END $body$",
            None,
        )
        return
    schema_editor.execute(f"DROP TRIGGER {NAME}", None)
    schema_editor.execute(
        f"CREATE TRIGGER {NAME} BEFORE UPDATE ON {TABLE} WHEN {condition('IS NOT', steps)}"
        " BEGIN SELECT RAISE(ABORT, 'a sent quote is never changed'); END",
        None,
    )


class Migration(migrations.Migration):
    dependencies = [("quoting", "0004_limit_tax_rates_to_categories")]
    operations = [
        migrations.RunPython(
            lambda apps, schema_editor: replace(schema_editor, STEPS),
            lambda apps, schema_editor: replace(schema_editor, BEFORE.QUOTE_STEPS),
        )
    ]
