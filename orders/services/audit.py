"""The audit trail: one record per change, written in the change's own transaction."""

from datetime import datetime
from typing import Any

from orders.models import AuditRecord
from orders.who import Who


def record(
    who: Who,
    verb: str,
    subject: str,
    *,
    now: datetime,
    before: str = "",
    after: str = "",
    reason: str = "",
    detail: dict[str, Any] | None = None,
) -> AuditRecord:
    """Add one record; assumes the caller's transaction."""
    return AuditRecord.objects.create(
        at=now,
        user=who.user,
        name=who.name[:120],
        verb=verb,
        subject=subject,
        before=before,
        after=after,
        reason=reason,
        detail=detail or {},
    )
