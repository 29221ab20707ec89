"""The outlook of the last plan version, or a cautious one for a shop that has made no plan yet; no simulation here."""

from datetime import date, datetime, time, timedelta
from functools import lru_cache
from math import ceil

from django.utils import timezone

from quoting.leadtime.outlook import Outlook, Probe
from quoting.models import PlanOutlook
from quoting.services.serial import structured, unstructured

COLD_START = "cold start"
"""Version of the outlook before any plan was made."""

MINUTES_A_DAY = 240
"""Bench minutes one propeller gets on a working day; common practice, no source."""
WAITING_DAYS = 14
"""Calendar days in which timber conditions, glue and varnish set; common practice, no source."""
CUSTOMER_DAYS = 10
"""Days until deposit and drawing are through; common practice, no source."""


def latest_outlook(now: datetime | None = None) -> Outlook:
    """The newest stored outlook, or the cautious cold start; one query when it was read before."""
    newest = PlanOutlook.objects.values_list("pk", "version", "as_of").first()
    kept = _kept(*newest) if newest else None
    return kept if kept and kept.probes else cold_start(now or timezone.now())


def outlook_on(today: date) -> Outlook:
    """What a quote written on that day goes by: the newest outlook, or that day's cold start while there is none."""
    now = timezone.now()
    noon = datetime.combine(today, time(12), tzinfo=timezone.get_current_timezone())
    return latest_outlook(now if today == timezone.localdate(now) else noon)


def store_outlook(outlook: Outlook) -> PlanOutlook:
    """Keep the outlook of a plan version; the same version again changes nothing."""
    row, _ = PlanOutlook.objects.get_or_create(
        version=outlook.version,
        defaults={"as_of": outlook.as_of, "outlook": unstructured(outlook)},
    )
    return row


def forget_outlooks(before: datetime) -> None:
    """Take out the outlooks of plans made before an instant; the newest stays, it is the only one looked into."""
    newest = PlanOutlook.objects.first()
    if newest:
        PlanOutlook.objects.filter(as_of__lt=before).exclude(pk=newest.pk).delete()


def cold_start(now: datetime) -> Outlook:
    """An empty shop's outlook: bench days of half a shift, usual waits, and a wide spread because nothing is known."""
    now = timezone.localtime(now)
    today = now.date()
    days = tuple(d for n in range(1, 730) if (d := today + timedelta(days=n)).weekday() < 5)
    probes = (_probe(today, klass, work) for klass in (0, 1) for work in (480, 1200, 2400, 4800))
    return Outlook(COLD_START, now, 0, early=True, overloaded=False, working_days=days, probes=tuple(probes))


def _probe(today: date, klass: int, work: int) -> Probe:
    bench = ceil(work / MINUTES_A_DAY) * 7 / 5
    shop = ceil(WAITING_DAYS + bench * (1 if klass == 0 else 2))
    p50, p80, p95 = (today + timedelta(days=CUSTOMER_DAYS + ceil(shop * spread)) for spread in (1, 1.5, 2.2))
    return Probe(klass, work, p50, p80, p95, shop, CUSTOMER_DAYS)


@lru_cache(maxsize=8)
def _kept(pk: int, _version: str, _as_of: datetime) -> Outlook:
    return structured(PlanOutlook.objects.get(pk=pk).outlook, Outlook)
