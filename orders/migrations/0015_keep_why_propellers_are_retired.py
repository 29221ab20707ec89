"""Why and when a propeller was retired from the register."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("orders", "0014_keep_boards_and_price_of_timber")]
    operations = [
        migrations.AddField("propeller", "retired_at", models.DateTimeField(blank=True, null=True)),
        migrations.AddField(
            "propeller",
            "retired_for",
            models.CharField(
                blank=True,
                choices=[
                    ("returned", "it came back to the workshop"),
                    ("damaged", "it is damaged beyond repair"),
                    ("life ended", "its life has ended"),
                ],
                max_length=12,
            ),
        ),
        migrations.AddField("propeller", "retired_note", models.TextField(blank=True)),
        migrations.AddConstraint(
            "propeller",
            models.CheckConstraint(
                condition=~models.Q(state="retired")
                | (~models.Q(retired_for="") & models.Q(retired_at__isnull=False)),
                name="a_retired_propeller_says_why",
            ),
        ),
    ]
