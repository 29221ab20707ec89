"""The exact date of an enquiry under review; what a job is about, indexed."""

import django.db.models.deletion
from django.db import migrations, models


def name_drawings(apps, schema_editor):
    """Give the jobs that drew a quote's propeller their subject, and drop those that dated drafts no page has."""
    jobs = apps.get_model("orders", "OutboxJob").objects
    rows = list(jobs.filter(kind="draw-propeller").only("pk", "payload"))
    for row in rows:
        row.subject = f"quote {row.payload['quote']}"
    jobs.bulk_update(rows, ["subject"], batch_size=500)
    jobs.filter(kind="date-quote").delete()


class Migration(migrations.Migration):
    dependencies = [("orders", "0015_keep_review_drafts")]

    operations = [
        migrations.CreateModel(
            "ExactDate",
            [
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("rush", models.BooleanField(default=False)),
                ("overridden", models.BooleanField(default=False)),
                (
                    "state",
                    models.CharField(
                        choices=[("asked", "asked"), ("done", "done"), ("failed", "failed")],
                        default="asked",
                        max_length=6,
                    ),
                ),
                ("fits", models.CharField(blank=True, max_length=64)),
                ("forecast", models.JSONField(default=dict)),
                ("problem", models.TextField(blank=True)),
                ("asked_at", models.DateTimeField()),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                (
                    "enquiry",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="exact_date",
                        to="orders.enquiry",
                    ),
                ),
            ],
        ),
        migrations.AddField("outboxjob", "subject", models.CharField(blank=True, default="", max_length=80)),
        migrations.AddIndex("outboxjob", models.Index(fields=["kind", "subject"], name="outbox_by_subject")),
        migrations.RunPython(name_drawings, migrations.RunPython.noop),
    ]
