"""Says of every glue and finish whether a flying propeller may have it; unsaid, it may, but for three sold for display."""

from django.db import migrations

DISPLAY_ONLY = {"Glue": ("casein", "urea-formaldehyde"), "Finish": ("shellac",)}


def say(apps, schema_editor):
    for name, display_only in DISPLAY_ONLY.items():
        for row in apps.get_model("quoting", name).objects.all():
            if "suitable_for_flight" not in row.values:
                row.values["suitable_for_flight"] = row.code not in display_only
                row.save(update_fields=["values"])


def unsay(apps, schema_editor):
    for name in DISPLAY_ONLY:
        for row in apps.get_model("quoting", name).objects.all():
            row.values.pop("suitable_for_flight", None)
            row.save(update_fields=["values"])


class Migration(migrations.Migration):
    dependencies = [("quoting", "0005_let_a_revision_follow_an_accepted_quote")]
    operations = [migrations.RunPython(say, unsay)]
