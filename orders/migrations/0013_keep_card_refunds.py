"""Refunds asked of the card provider, and one attempt under way for each amount asked."""

import uuid

import django.db.models.deletion
from django.db import migrations, models


def keep_newest(apps, schema_editor):
    attempts = apps.get_model("orders", "PaymentAttempt").objects
    seen = set()
    for attempt in attempts.filter(state__in=["created", "open"]).order_by("-created_at"):
        if attempt.request_id in seen:
            attempts.filter(pk=attempt.pk).update(state="expired")
        seen.add(attempt.request_id)
    attempts.filter(state="failed").update(state="expired")


class Migration(migrations.Migration):
    dependencies = [("orders", "0012_keep_confirmations")]

    operations = [
        migrations.CreateModel(
            name="CardRefund",
            fields=[
                ("id", models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ("amount", models.BigIntegerField()),
                ("net", models.BigIntegerField(default=0)),
                ("tax", models.BigIntegerField(default=0)),
                ("reason", models.TextField()),
                (
                    "state",
                    models.CharField(
                        choices=[("queued", "asked for"), ("done", "done"), ("failed", "refused")],
                        default="queued",
                        max_length=6,
                    ),
                ),
                ("trouble", models.CharField(blank=True, max_length=255)),
                ("asked_by", models.CharField(max_length=120)),
                ("asked_at", models.DateTimeField()),
                ("tried_at", models.DateTimeField(blank=True, null=True)),
                (
                    "given",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="card_refund",
                        to="orders.payment",
                    ),
                ),
                (
                    "order",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="card_refunds", to="orders.order"
                    ),
                ),
                (
                    "paid",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="card_refunds",
                        to="orders.payment",
                    ),
                ),
            ],
            options={"ordering": ["asked_at", "id"]},
        ),
        migrations.AddConstraint(
            "cardrefund",
            models.CheckConstraint(condition=models.Q(amount__gt=0), name="card_refund_is_more_than_nothing"),
        ),
        migrations.AddConstraint(
            "cardrefund",
            models.CheckConstraint(
                condition=models.Q(net=0, tax=0) | models.Q(amount=models.F("net") + models.F("tax")),
                name="card_refund_adds_up",
            ),
        ),
        migrations.AlterField(
            "paymentattempt",
            "state",
            models.CharField(
                choices=[
                    ("created", "created"),
                    ("open", "open"),
                    ("paid", "paid"),
                    ("expired", "expired"),
                    ("aside", "set aside"),
                ],
                default="created",
                max_length=8,
            ),
        ),
        migrations.RunPython(keep_newest, migrations.RunPython.noop),
        migrations.AddConstraint(
            "paymentattempt",
            models.UniqueConstraint(
                condition=models.Q(state__in=["created", "open"]),
                fields=["request"],
                name="one_attempt_under_way_per_request",
            ),
        ),
    ]
