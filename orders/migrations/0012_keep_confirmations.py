"""Open questions of an order, with the word given on each."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("orders", "0011_widen_audit_subject_and_link_promises_once")]
    operations = [
        migrations.CreateModel(
            name="Confirmation",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.CharField(max_length=20)),
                ("question", models.CharField(max_length=200)),
                ("assumed", models.CharField(blank=True, max_length=200)),
                (
                    "state",
                    models.CharField(
                        choices=[("open", "open"), ("confirmed", "confirmed"), ("otherwise", "otherwise")],
                        default="open",
                        max_length=10,
                    ),
                ),
                ("answer", models.CharField(blank=True, max_length=300)),
                ("typed", models.JSONField(default=dict)),
                ("decided_name", models.CharField(blank=True, max_length=120)),
                ("decided_at", models.DateTimeField(blank=True, null=True)),
                (
                    "order",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="confirmations",
                        to="orders.order",
                    ),
                ),
            ],
            options={
                "ordering": ["order", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("order", "key"), name="one_confirmation_of_a_kind_per_order"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("state", "open"))
                        | (models.Q(("decided_at__isnull", False)) & ~models.Q(("answer", ""))),
                        name="confirmation_is_signed",
                    ),
                ],
            },
        ),
    ]
