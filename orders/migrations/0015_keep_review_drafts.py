"""One draft of the owner's review for each enquiry."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("orders", "0014_keep_boards_and_price_of_timber")]
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
