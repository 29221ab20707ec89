"""Audit subjects as long as the names they carry; one open calendar link to the promises."""

from django.db import migrations, models
from django.db.models.functions import Coalesce
from django.utils import timezone


class WidenWhereLengthsHold(migrations.AlterField):
    """SQLite holds no length and would remake the table, without the triggers that keep the audit trail."""

    def database_forwards(self, app_label, schema_editor, from_state, to_state):
        if schema_editor.connection.vendor != "sqlite":
            super().database_forwards(app_label, schema_editor, from_state, to_state)

    def database_backwards(self, app_label, schema_editor, from_state, to_state):
        self.database_forwards(app_label, schema_editor, from_state, to_state)


def keep_newest(apps, schema_editor):
    links = apps.get_model("orders", "CalendarLink").objects.filter(person=None, revoked_at=None)
    newest = links.order_by("-made_at", "-id").first()
    if newest:
        links.exclude(pk=newest.pk).update(revoked_at=timezone.now())


class Migration(migrations.Migration):
    dependencies = [("orders", "0010_keep_waits_on_timber")]

    operations = [
        WidenWhereLengthsHold("auditrecord", "subject", models.CharField(max_length=200, db_index=True)),
        migrations.RunPython(keep_newest, migrations.RunPython.noop),
        migrations.AddConstraint(
            "calendarlink",
            models.UniqueConstraint(
                Coalesce("person", 0, output_field=models.BigIntegerField()),
                condition=models.Q(revoked_at=None, person=None),
                name="one_open_link_to_promises",
            ),
        ),
    ]
