"""One draft of the owner's review for each enquiry."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("orders", "0015_keep_why_propellers_are_retired")]
    operations = [
        migrations.CreateModel(
            name="ReviewDraft",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("changes", models.JSONField(blank=True, null=True)),
                ("typed", models.JSONField(blank=True, default=dict)),
                ("changed_at", models.DateTimeField()),
                ("changed_by", models.CharField(max_length=120)),
                (
                    "enquiry",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="draft",
                        to="orders.enquiry",
                    ),
                ),
            ],
        )
    ]
