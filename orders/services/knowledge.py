"""All that a forecast is made from as it stands: shop, queue, and what the record has taught. Stores nothing.

Imports the simulation; only the worker and commands import this file.
"""

from datetime import datetime

from django.utils import timezone

from orders.models import PlanVersion
from orders.services import shop
from orders.services.history import history_of
from quoting.leadtime.backtest import replayed
from quoting.leadtime.calendar import Calendar, ShopProblem
from quoting.leadtime.calibration import Calibration
from quoting.leadtime.learn import learn
from quoting.leadtime.moves import Snapshot
from quoting.services.serial import structured


def snapshot_at(now: datetime) -> Snapshot:
    """Shop, queue, calibration and minute."""
    values = shop.shop_of(timezone.localdate(now))
    calendar = Calendar(values)
    return Snapshot(values, shop.queue_of(calendar), knowledge(calendar, now=now), calendar.now(now))


def knowledge(calendar: Calendar, *, now: datetime) -> Calibration:
    """The calibration to forecast with: today's, as the plan of today has it, or learnt now from all that is recorded."""
    current = PlanVersion.objects.filter(current=True).first()
    if current and timezone.localdate(current.as_of) == timezone.localdate(now):
        kept = current.snapshot.get("calibration")
        if kept:
            return structured(kept, Calibration)
    return learnt(calendar, now=now)


def learnt(calendar: Calendar, *, now: datetime) -> Calibration:
    """Stage ratios, redoing, absence, waits and arrivals from the record up to now; and how far the dates can be trusted:
    those that this way of reckoning would have given the last orders, against the days on which these were done."""
    history, minute = history_of(calendar), calendar.now(now)
    try:
        quotes = replayed(calendar.shop, history, minute)
    except ShopProblem:
        quotes = ()  # the shop as it is now can't do its past orders: the plan will say why, or it no longer matters
    return learn(calendar.shop, history, minute, quotes=quotes)
