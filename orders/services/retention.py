"""What need not be kept: background work long done, and of old plans and forecasts all that no page tells any more.

Nothing of the record goes: documents, mails, postings, builds and the audit trail stay.
"""

from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils import timezone

from orders.models import ForecastHistory, Order, OutboxJob, PlanVersion
from orders.services.forecast_moves import told
from quoting.services.outlook import forget_outlooks

AT_ONCE = 500
"""Rows taken out in one transaction, so that nobody waits long."""
VERSIONS_KEPT = 20
"""The newest plans stay whatever their age: the plan's page names them."""


def run(payload: dict[str, Any]) -> None:
    """Job: take out what is older than the settings' KEEP_DAYS."""
    before = timezone.now() - timedelta(days=settings.KEEP_DAYS)
    _take_out(_jobs_done(before))
    for order in Order.objects.filter(forecasts__at__lt=before).distinct():
        thin(order, before)
    _take_out(_plans_not_told(before))
    _old_plans(before).exclude(snapshot={}).update(snapshot={})
    forget_outlooks(before)


def _jobs_done(before: datetime) -> QuerySet[OutboxJob]:
    """Jobs done long ago; the last one on a subject stays, it tells that there is nothing more to make."""
    later = OutboxJob.objects.filter(
        kind=OuterRef("kind"), subject=OuterRef("subject"), pk__gt=OuterRef("pk")
    )
    done = OutboxJob.objects.filter(state=OutboxJob.State.DONE, done_at__lt=before)
    return done.filter(Q(subject="") | Exists(later))


@transaction.atomic
def thin(order: Order, before: datetime) -> None:
    """Of an order's forecasts up to `before` only those told stay, with the causes of what lay between them."""
    rows = list(order.forecasts.select_for_update().filter(at__lt=before).order_by("at", "id"))
    stays = [(row, causes) for row, _days, causes in told(rows)]
    if not stays:
        return
    kept, last = {row.pk for row, _ in stays}, rows.index(stays[-1][0])
    for row, causes in stays:
        if row.causes != causes:
            ForecastHistory.objects.filter(pk=row.pk).update(causes=causes)
    ForecastHistory.objects.filter(pk__in=[r.pk for r in rows[:last] if r.pk not in kept]).delete()


def _old_plans(before: datetime) -> QuerySet[PlanVersion]:
    newest = list(PlanVersion.objects.values_list("pk", flat=True)[:VERSIONS_KEPT])
    return PlanVersion.objects.filter(current=False, as_of__lt=before).exclude(pk__in=newest)


def _plans_not_told(before: datetime) -> QuerySet[PlanVersion]:
    """Plans of which no forecast is told."""
    told_of = ForecastHistory.objects.filter(plan=OuterRef("pk"))
    return _old_plans(before).exclude(Exists(told_of))


def _take_out(rows: QuerySet[Any]) -> None:
    """Delete in portions."""
    while found := list(rows.values_list("pk", flat=True)[:AT_ONCE]):
        rows.model._default_manager.filter(pk__in=found).delete()
