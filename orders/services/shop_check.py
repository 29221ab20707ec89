"""What is wrong with the shop as it stands, and the refusal of an edit that would break the plan."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from orders.refusal import Refused
from orders.services import audit, outbox, shop
from orders.who import OWNER, Who
from quoting.leadtime.calendar import Calendar, ShopProblem
from quoting.leadtime.check import Trouble, check


def troubles(now: datetime) -> tuple[Trouble, ...]:
    """Everything wrong with the shop and its queue, gravest first, each with the page that can mend it."""
    values = shop.shop_of(timezone.localdate(now))
    calendar = Calendar(values)
    return check(values, shop.queue_of(calendar), calendar.now(now))


def troubles_of(page: str, now: datetime) -> list[Trouble]:
    """The troubles that one page can mend."""
    return [t for t in troubles(now) if t.page == page]


@contextmanager
def edited(who: Who, verb: str, subject: str, *, now: datetime, field: str = "") -> Iterator[None]:
    """One transaction around an edit of the shop: audited, and asking for a new plan.

    Raises Refused at `field` and stores nothing when the edit leaves the shop unable to do what is in the queue;
    what was wrong before does not stand in the way of mending it bit by bit.
    """
    who.must_be(OWNER)
    with transaction.atomic():
        before = {t.message for t in troubles(now) if t.fatal}
        yield
        fresh = [t.message for t in _fatal(now, field) if t.message not in before]
        if fresh:
            raise Refused("breaks-the-plan", f"Not kept: {'; '.join(fresh[:3])}.", status=400, field=field)
        audit.record(who, verb, subject, now=now)
        outbox.enqueue("replan", {"reason": f"{subject}: {verb}"}, now=now, debounce="replan")


def _fatal(now: datetime, field: str) -> list[Trouble]:
    try:
        return [t for t in troubles(now) if t.fatal]
    except ShopProblem as problem:
        raise Refused("breaks-the-plan", f"Not kept: {problem}.", status=400, field=field) from problem
