"""Mail that does not go out waits, is told on the morning sheet and goes with one button; refused mail is named."""

import smtplib
from datetime import timedelta

import pytest
from django.core import mail as django_mail
from django.db import transaction
from django.utils import timezone

from orders import worker
from orders.models import Mail, OutboxJob
from orders.services import mail, outbox
from tests.orders.shop import Shop


@pytest.fixture
def away(shop: Shop, settings) -> Mail:
    """A mail whose server is away, tried until it was given up, half an hour ago."""
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9
    OutboxJob.objects.all().delete()
    with transaction.atomic():
        row = mail.write(
            "test", "alice@example.org", "Your quote", "Body", now=shop.now - timedelta(minutes=30)
        )
    for _ in range(outbox.MOST_ATTEMPTS):
        OutboxJob.objects.update(due_at=timezone.now())
        worker.run_one(OutboxJob.objects.get().pk)
    row.refresh_from_db()
    return row


def test_a_mail_whose_server_is_away_waits_and_stands_on_the_morning_sheet(owner, away: Mail):
    assert (away.state, OutboxJob.objects.get().state) == ("waiting", "dead")
    page = owner.get("/desk/").content.decode()
    assert "1 mail waits since" in page
    assert "Connection refused" in page


def test_it_goes_out_with_the_button_once_the_server_is_back(owner, away: Mail, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    assert owner.post("/desk/mail-again/").status_code == 302
    worker.sweep(most=1)
    away.refresh_from_db()
    assert (away.state, len(django_mail.outbox)) == ("sent", 1)
    assert "waits since" not in owner.get("/desk/").content.decode()


def test_a_mail_just_written_is_no_alarm(owner, shop: Shop):
    with transaction.atomic():
        mail.write("test", "alice@example.org", "Your quote", "Body", now=timezone.now())
    assert "has not gone out" not in owner.get("/desk/").content.decode()


def test_an_address_refused_for_good_is_named(owner, shop: Shop, monkeypatch):
    def refuse(self):
        raise smtplib.SMTPRecipientsRefused({"x@example.org": (550, b"no such box")})

    monkeypatch.setattr(mail.EmailMessage, "send", refuse)
    with transaction.atomic():
        row = mail.write("test", "x@example.org", "Your quote", "Body", now=timezone.now())
    worker.run_one(OutboxJob.objects.get(payload={"mail": row.pk}).pk)
    page = owner.get("/desk/").content.decode()
    assert "A mail to x@example.org (Your quote) was refused for good" in page
