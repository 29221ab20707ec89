"""Mail: a row with the change it tells of, sent by a job; sent twice, it carries the same Message-ID."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from smtplib import SMTPDataError, SMTPRecipientsRefused, SMTPSenderRefused
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import transaction
from django.utils import timezone

from orders.models import Customer, Mail, OutboxJob
from orders.services import audit, outbox
from orders.who import OWNER, Who

JOB = "send-mail"
LATE = timedelta(minutes=15)
"""A mail that waits longer than this is told to the owner."""


@dataclass(frozen=True, slots=True)
class NotSent:
    """Mails that are late: how many, since when the oldest waits, and what went wrong last."""

    count: int
    since: datetime
    error: str


def write(
    kind: str,
    to: str,
    subject: str,
    body: str,
    *,
    now: datetime,
    customer: Customer | None = None,
    about: str = "",
) -> Mail:
    """Put a mail into the outbox; assumes the caller's transaction. Line breaks cannot enter the subject."""
    row = Mail.objects.create(
        kind=kind,
        to=to,
        customer=customer,
        subject=" ".join(subject.split())[:200],
        body=body,
        about=about,
        created_at=now,
    )
    outbox.enqueue(JOB, {"mail": row.pk}, now=now)
    return row


def message_id(mail: Mail) -> str:
    """The same for every sending of the same row."""
    host = urlsplit(settings.BASE_URL).hostname or "localhost"
    return f"<mail-{mail.pk}-{mail.created_at:%Y%m%d%H%M%S}@{host}>"


def send(payload: dict[str, Any]) -> None:
    """Job: hand one mail to the mail server, outside any transaction, then mark it."""
    mail = Mail.objects.get(pk=payload["mail"])
    if mail.state != Mail.State.WAITING:
        return
    letter = EmailMessage(mail.subject, mail.body, to=[mail.to], headers={"Message-ID": message_id(mail)})
    try:
        letter.send()
    except (SMTPRecipientsRefused, SMTPDataError, SMTPSenderRefused) as refusal:
        if _is_final(refusal):
            Mail.objects.filter(pk=mail.pk).update(state=Mail.State.DEAD, last_error=str(refusal)[:2000])
            raise outbox.Hopeless(str(refusal)) from refusal
        raise
    Mail.objects.filter(pk=mail.pk, state=Mail.State.WAITING).update(
        state=Mail.State.SENT, sent_at=timezone.now()
    )


def not_sent(now: datetime) -> NotSent | None:
    """The mails that should have gone out by now and have not, if any."""
    late = Mail.objects.filter(state=Mail.State.WAITING, created_at__lt=now - LATE).order_by("created_at")
    oldest = late.first()
    if oldest is None:
        return None
    job = OutboxJob.objects.filter(kind=JOB, created_at__gte=oldest.created_at).exclude(last_error="").last()
    return NotSent(late.count(), oldest.created_at, job.last_error if job else "")


@transaction.atomic
def send_now(who: Who, *, now: datetime) -> None:
    """Try every waiting mail at once, those that were given up too."""
    who.must_be(OWNER)
    jobs = OutboxJob.objects.filter(kind=JOB)
    jobs.filter(state=OutboxJob.State.WAITING).update(due_at=now)
    waiting = set(Mail.objects.filter(state=Mail.State.WAITING).values_list("pk", flat=True))
    for job in jobs.filter(state=OutboxJob.State.DEAD):
        if job.payload.get("mail") in waiting:
            outbox.try_again(job, now=now)
    audit.record(who, "send again", "mail", now=now, detail={"mails": len(waiting)})


def _is_final(refusal: SMTPRecipientsRefused | SMTPDataError | SMTPSenderRefused) -> bool:
    if isinstance(refusal, SMTPRecipientsRefused):
        return all(code >= 500 for code, _ in refusal.recipients.values())
    return refusal.smtp_code >= 500
