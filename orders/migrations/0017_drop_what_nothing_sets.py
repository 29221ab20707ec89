"""What nothing sets: prepayment invoices, when a message was read, mails cancelled."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('orders', '0016_keep_exact_dates_and_subjects_of_jobs'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='invoice',
            name='one_prepayment_invoice_per_order',
        ),
        migrations.RemoveField(
            model_name='message',
            name='read_at',
        ),
        migrations.AlterField(
            model_name='invoice',
            name='type_code',
            field=models.CharField(choices=[('380', 'invoice'), ('381', 'credit note'), ('383', 'debit note')], default='380', max_length=3),
        ),
        migrations.AlterField(
            model_name='mail',
            name='state',
            field=models.CharField(choices=[('waiting', 'waiting'), ('sent', 'sent'), ('dead', 'dead')], default='waiting', max_length=10),
        ),
    ]
