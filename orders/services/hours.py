"""When the shop is open: opening hours, time zone, public holidays by country, and its own closures."""

from datetime import date, datetime, timedelta

import holidays
from django.db.models import Q

from orders.models import Closure, Workshop
from orders.refusal import Refused
from orders.services.opening import zone_of
from orders.services.shop import Week
from orders.services.shop_check import edited
from orders.who import Who

LONGEST_CLOSURE = timedelta(days=366)


def change_hours(
    who: Who, *, opening: Week, timezone: str, country: str, subdivision: str, now: datetime
) -> None:
    """Opening hours (empty: whenever somebody works), time zone, and whose public holidays are kept."""
    zone_of(timezone)
    known = holidays.list_supported_countries()
    if country not in known:
        raise Refused(
            "country", "Enter the country's two letters, such as DE.", status=400, field="holidays_country"
        )
    if subdivision and subdivision not in known[country]:
        parts = ", ".join(known[country]) or "none: leave it empty"
        raise Refused(
            "subdivision",
            f"Parts of {country} with holidays of their own: {parts}.",
            status=400,
            field="holidays_subdivision",
        )
    with edited(who, "change opening hours", "the workshop", now=now, field="opening"):
        Workshop.objects.update(
            opening=opening if any(opening) else [],
            timezone=timezone,
            holidays_country=country,
            holidays_subdivision=subdivision,
        )


def close(who: Who, *, first_day: date, last_day: date, reason: str = "", now: datetime) -> Closure:
    """Days the whole shop is closed, both ends included."""
    if last_day < first_day:
        raise Refused("days", "The last day comes before the first.", status=400, field="last_day")
    if last_day - first_day > LONGEST_CLOSURE:
        raise Refused("days", "At most a year at a time.", status=400, field="last_day")
    with edited(who, f"close {first_day} to {last_day}", "the workshop", now=now, field="last_day"):
        other = Closure.objects.filter(Q(first_day__lte=last_day), Q(last_day__gte=first_day)).first()
        if other:
            raise Refused(
                "days",
                f"Already closed {other.first_day} to {other.last_day}.",
                status=400,
                field="first_day",
            )
        return Closure.objects.create(first_day=first_day, last_day=last_day, reason=reason.strip()[:80])


def open_again(who: Who, closure: Closure, *, now: datetime) -> None:
    """Strike a closure out."""
    with edited(who, f"open {closure.first_day} to {closure.last_day}", "the workshop", now=now):
        closure.delete()
