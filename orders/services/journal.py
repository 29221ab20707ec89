"""The journal: post, reverse, close a period, verify the chain. Corrections are further entries, never edits."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.utils.translation import gettext as _

from orders.models import JournalEntry, JournalLine, Period
from orders.refusal import Refused
from orders.services import audit, chart
from orders.who import BOOKKEEPER, OWNER, Who
from quoting.services.numbering import take_number

S = Period.State


@dataclass(frozen=True, slots=True)
class Side:
    """One line to be posted: exactly one of debit and credit is positive, in minor units."""

    account: str
    debit: int = 0
    credit: int = 0


def debit(account: str, amount: int) -> Side:
    """A debit; a negative amount is a credit."""
    return Side(account, debit=amount) if amount >= 0 else Side(account, credit=-amount)


def credit(account: str, amount: int) -> Side:
    """A credit; a negative amount is a debit."""
    return debit(account, -amount)


@transaction.atomic
def post(
    who: Who,
    source: str,
    sides: Sequence[Side],
    *,
    text: str,
    currency: str,
    today: date,
    now: datetime,
    document_date: date | None = None,
    order_number: str = "",
    reverses: JournalEntry | None = None,
) -> JournalEntry:
    """Post one entry: draft, lines, mark; the database checks the mark.

    Sides of nothing are left out. A fact already booked under `source` raises Refused. An entry whose month is
    closed goes to the first day of the next open month and keeps its document date.
    """
    number = take_number("journal")  # the counter's lock also orders postings against the closing of a period
    if JournalEntry.objects.filter(source=source).exists():
        raise Refused("booked-already", f"{source} is in the journal already.")
    period, posting_date = _open_period(who, today, now=now)
    entry = JournalEntry.objects.create(
        number=number,
        source=source,
        period=period,
        document_date=document_date or today,
        posting_date=posting_date,
        text=text[:200],
        order_number=order_number,
        reverses=reverses,
        posted_by=who.name[:120],
        created_at=now,
    )
    real = [side for side in sides if side.debit or side.credit]
    for position, side in enumerate(real, start=1):
        JournalLine.objects.create(
            entry=entry,
            position=position,
            account=chart.account(side.account),
            debit=side.debit,
            credit=side.credit,
            currency=currency,
        )
    entry.digest = chained(entry)
    entry.posted = True
    entry.save(update_fields=["posted", "digest"])
    return entry


@transaction.atomic
def reverse(who: Who, entry: JournalEntry, *, reason: str, today: date, now: datetime) -> JournalEntry:
    """Post the mirror of an entry, once at most."""
    who.must_be(OWNER, BOOKKEEPER)
    if not reason.strip():
        raise Refused("reason-missing", "Say why the entry is reversed.", status=400, field="reason")
    sides = [
        Side(line.account.code, debit=line.credit, credit=line.debit)
        for line in entry.lines.select_related("account")
    ]
    mirror = post(
        who,
        f"reversal of {entry.source}",
        sides,
        text=f"Reversal of {entry.number}: {reason}",
        currency=entry.lines.first().currency,  # type: ignore[union-attr]
        today=today,
        now=now,
        document_date=entry.document_date,
        order_number=entry.order_number,
        reverses=entry,
    )
    audit.record(who, "reverse", f"journal entry {entry.number}", now=now, reason=reason)
    return mirror


def is_closed(day: date) -> bool:
    """Whether the books take no more entries for a day: its month is closed, or was never used before one that is."""
    first = day.replace(day=1)
    found = Period.objects.filter(first_day=first).first()
    if found is not None:
        return found.state == S.CLOSED
    return Period.objects.filter(first_day__gt=first, state=S.CLOSED).exists()


def must_be_open(day: date, *, today: date, field: str) -> None:
    """Raise Refused at the field unless something may be booked on a day typed in."""
    if day > today:
        raise Refused("future", _("This day has not come yet."), status=400, field=field)
    if is_closed(day):
        text = _("%(month)s is closed in the books; enter a day of an open month, or open it again.")
        raise Refused("period-closed", text % {"month": f"{day:%Y-%m}"}, status=400, field=field)


@transaction.atomic
def close_period(who: Who, first_day: date, *, today: date, now: datetime) -> Period:
    """Close a month that is over, the earliest open one first, under the lock that postings take."""
    period = _locked(who, first_day)
    if period.state == S.CLOSED:
        raise Refused("closed", _("%(month)s is closed already.") % _month(period), field="month")
    if _next_month(period.first_day) > today:
        raise Refused("not-over", _("%(month)s is not over yet.") % _month(period), status=400, field="month")
    earlier = Period.objects.filter(first_day__lt=period.first_day, state=S.OPEN).first()
    if earlier is not None:
        text = _("Close %(month)s first; months are closed in turn.")
        raise Refused("earlier-open", text % _month(earlier), status=400, field="month")
    return _turn(who, period, S.CLOSED, now=now)


@transaction.atomic
def reopen_period(who: Who, first_day: date, *, reason: str, now: datetime) -> Period:
    """Open a closed month again; always on record with its reason."""
    period = _locked(who, first_day)
    if period.state == S.OPEN:
        raise Refused("open", _("%(month)s is open already.") % _month(period), field="month")
    if not reason.strip():
        raise Refused("reason-missing", _("Say why it is opened again."), status=400, field="reason")
    return _turn(who, period, S.OPEN, now=now, reason=reason.strip())


def _month(period: Period) -> dict[str, str]:
    return {"month": f"{period.first_day:%Y-%m}"}


def _locked(who: Who, first_day: date) -> Period:
    who.must_be(OWNER, BOOKKEEPER)
    try:
        return Period.objects.select_for_update().get(first_day=first_day.replace(day=1))
    except Period.DoesNotExist as missing:
        raise Refused(
            "no-period", _("Nothing is booked in this month."), status=400, field="month"
        ) from missing


def _turn(who: Who, period: Period, state: str, *, now: datetime, reason: str = "") -> Period:
    before, period.state = period.state, state
    period.changed_at, period.changed_by = now, who.name[:120]
    period.save(update_fields=["state", "changed_at", "changed_by"])
    audit.record(
        who, "turn", f"period {period.first_day:%Y-%m}", now=now, before=before, after=state, reason=reason
    )
    return period


def _open_period(who: Who, day: date, *, now: datetime) -> tuple[Period, date]:
    """The open period for a day, made when it is new, locked against closing; the next open one when it is closed."""
    posting = day
    while True:
        values = {"changed_at": now, "changed_by": who.name[:120]}
        Period.objects.get_or_create(first_day=posting.replace(day=1), defaults=values)
        period = Period.objects.select_for_update().get(first_day=posting.replace(day=1))
        if period.state == S.OPEN:
            return period, posting
        posting = _next_month(posting)


def _next_month(day: date) -> date:
    return date(day.year + day.month // 12, day.month % 12 + 1, 1)


def chained(entry: JournalEntry) -> str:
    """SHA-256 over the entry, its lines and the digest of the entry before it."""
    before = (
        JournalEntry.objects.filter(number=entry.number - 1).values_list("digest", flat=True).first() or ""
    )
    lines = list(
        entry.lines.order_by("position").values_list(
            "position", "account__code", "debit", "credit", "currency"
        )
    )
    content = [
        before,
        entry.number,
        entry.source,
        entry.document_date.isoformat(),
        entry.posting_date.isoformat(),
        entry.text,
        entry.order_number,
        entry.posted_by,
        lines,
    ]
    return hashlib.sha256(json.dumps(content, separators=(",", ":")).encode()).hexdigest()
