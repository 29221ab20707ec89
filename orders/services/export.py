"""The journal as CSV with a manifest: the same books give the same bytes, whatever machine, database or locale."""

import csv
import hashlib
import io
import json
from datetime import date

from django.db.models import Sum

from orders.models import JournalLine
from quoting.pricing.money import EXPONENTS, Money

COLUMNS = (
    "entry", "line", "posting_date", "document_date", "period", "account", "account_name",
    "debit", "credit", "currency", "text", "order", "source", "posted_by", "digest",
)  # fmt: skip


def journal_csv(first: date | None = None, last: date | None = None) -> bytes:
    """Posted lines in order of entry and line: UTF-8, LF, decimal points, ISO dates; cells that a sheet would take
    for a formula are kept as text by a leading apostrophe."""
    lines = JournalLine.objects.filter(entry__posted=True).select_related("entry__period", "account")
    if first:
        lines = lines.filter(entry__posting_date__gte=first)
    if last:
        lines = lines.filter(entry__posting_date__lte=last)
    sheet = io.StringIO()
    writer = csv.writer(sheet, lineterminator="\n")
    writer.writerow(COLUMNS)
    for line in lines.order_by("entry__number", "position"):
        entry = line.entry
        writer.writerow([
            entry.number, line.position, entry.posting_date.isoformat(), entry.document_date.isoformat(),
            f"{entry.period.first_day:%Y-%m}", line.account.code, _plain(line.account.name),
            _amount(line.debit, line.currency), _amount(line.credit, line.currency), line.currency,
            _plain(entry.text), entry.order_number, _plain(entry.source), _plain(entry.posted_by), entry.digest,
        ])  # fmt: skip
    return sheet.getvalue().encode()


def manifest(content: bytes) -> str:
    """Counts, totals and SHA-256 of an export, as JSON with sorted keys and a final line break."""
    totals = (
        JournalLine.objects.filter(entry__posted=True)
        .values("currency")
        .annotate(debit=Sum("debit"), credit=Sum("credit"))
        .order_by("currency")
    )
    facts = {
        "lines": content.count(b"\n") - 1,
        "sha256": hashlib.sha256(content).hexdigest(),
        "totals": {row["currency"]: {"credit": row["credit"], "debit": row["debit"]} for row in totals},
    }
    return json.dumps(facts, indent=2, sort_keys=True) + "\n"


def _amount(minor: int, currency: str) -> str:
    if not minor:
        return ""
    return f"{Money.from_minor(minor, currency).amount:.{EXPONENTS[currency]}f}"


def _plain(text: str) -> str:
    clean = " ".join(text.split())
    return f"'{clean}" if clean[:1] in ("=", "+", "-", "@") else clean
