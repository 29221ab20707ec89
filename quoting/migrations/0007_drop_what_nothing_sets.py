"""A later price book replaces an earlier one by its day: none is marked as retired."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('quoting', '0006_say_which_glues_and_finishes_fly'),
    ]

    operations = [
        migrations.AlterField(
            model_name='pricebookversion',
            name='state',
            field=models.CharField(choices=[('draft', 'draft'), ('in force', 'in force')], default='draft', max_length=10),
        ),
    ]
