"""Two years of the demo workshop: about sixty orders in every state, made by the real services at their times."""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from random import Random

from django.utils import timezone

from demo.cast import CUSTOMERS, WISHES
from demo.path import Path, in_hours
from orders.models import BenchPerson, Enquiry, Order, OutboxJob
from orders.services import (
    cancelling,
    documents,
    drawings,
    enquiry,
    hours,
    people,
    queue,
    quote,
    timber_waits,
)
from orders.who import THE_SERVICE, Who
from quoting.models import Quote

SEED = 1931
FINISHED = 42
AWAY = (
    ("sunniva", 12, 4, "leave", True),
    ("tadeo", -40, 5, "influenza", False),
    ("odo", 5, 1, "dentist", True),
)
"""Days off of the demo: who, how many days from today, for how many days, why, and whether it was foreseen."""
ON_THE_BENCH = (("sand", 75), ("drill", 42), ("rough-carve", 38), ("varnish", 40), ("laminate", 33))
"""Where the builds under way have come to, and how many days ago they were asked for; the first is long overdue."""

PAPERS_LATER = timedelta(minutes=3)
"""After what a visitor waits for first: the plan and the drawings of what is open."""


def tell(now: datetime, random: Random, progress: Callable[[str], None] = lambda _: None) -> None:
    """Fill an opened demo workshop with its history up to `now`."""
    for number in range(FINISHED):
        ago = 730 - number * (640 / FINISHED) + random.uniform(-4, 4)
        finished_order(Path(in_hours(now - timedelta(days=ago)), random), number)
        progress(f"finished order {number + 1}")
    under_way(now, random)
    still_open(now, random)
    calendar(now)
    settle(now)


def wish(number: int, random: Random) -> dict[str, str]:
    """A wish of the cast, its size varied a little from order to order."""
    typed = dict(WISHES[number % len(WISHES)])
    for name, spread in (("diameter", 1), ("pitch", 2)):
        typed[name] = str(int(typed[name]) + random.randint(-spread, spread))
    return typed


def quoted(path: Path, number: int) -> tuple[Enquiry, Quote]:
    """Asked, and quoted a day or three later; a stop is overridden in writing as the owner would."""
    typed = wish(number, path.random)
    row, answer = path.ask(typed, CUSTOMERS[number % len(CUSTOMERS)])
    path.later(days=path.random.uniform(0.3, 3))
    reason = (
        ""
        if answer.estimate and answer.estimate.price
        else "Talked through with the customer; built to their own figures."
    )
    return row, path.send(row, override_reason=reason)


def ordered(path: Path, number: int) -> tuple[Path, Order]:
    """Quoted and accepted."""
    row, sent = quoted(path, number)
    path.later(days=path.random.uniform(1, 8))
    return path, path.accept(sent, row.customer.name)


def queued(path: Path, number: int) -> Order:
    """Accepted, deposit paid, drawing approved; the mock-up a little later."""
    _, order = ordered(path, number)
    path.later(days=path.random.uniform(1, 7))
    path.pay(order, "deposit")
    path.later(days=path.random.uniform(0, 4))
    path.approve(order, "drawing")
    order.refresh_from_db()
    return order


def finished_order(path: Path, number: int) -> None:
    """The whole way; one in fifteen is cancelled before wood is cut."""
    order = queued(path, number)
    if number % 15 == 14:
        path.later(days=2)
        cancelling.cancel_order(
            path.owner, order, reason="The customer sold the project.", retained=0,
            today=path.today, now=path.now,
        )  # fmt: skip
        path.later(days=3)
        path.pay_back(order)
        return
    path.approve(order, "mock-up")
    path.later(days=path.random.uniform(0, 3))
    path.take_over(order)
    path.finish(order)


def under_way(now: datetime, random: Random) -> None:
    """What stands on the bench, waits in the queue, is held or ready on the day of loading."""
    for place, (until, ago) in enumerate(ON_THE_BENCH):
        path = Path(in_hours(now - timedelta(days=ago)), random)
        order = queued(path, place)
        if until != "varnish":
            path.approve(order, "mock-up")
        path.build(order, until=until)
    ready = Path(in_hours(now - timedelta(days=90)), random)
    order = queued(ready, 3)
    ready.approve(order, "mock-up")
    ready.build(order)
    for place in range(4):
        path = Path(in_hours(now - timedelta(days=32 - 2 * place)), random)
        queued(path, place + 4)
    held = Path(in_hours(now - timedelta(days=36)), random)
    order = queued(held, 8)
    queue.hold(held.owner, order, reason="The customer's hub is being measured again.", now=held.now)
    for place in range(3):
        path = Path(in_hours(now - timedelta(days=20 - 3 * place)), random)
        _, order = ordered(path, place + 2)
        if place == 1:
            path.pay(order, "deposit")


def still_open(now: datetime, random: Random) -> None:
    """Enquiries and quotes that wait for somebody, and some that came to nothing."""
    lapsed = Path(in_hours(now - timedelta(days=70)), random)
    quoted(lapsed, 5)
    declined = Path(in_hours(now - timedelta(days=25)), random)
    row, sent = quoted(declined, 6)
    quote.decline_quote(
        sent.token, reason="Too far away for this season.", name=row.customer.name, now=declined.later(days=2)
    )
    revised = Path(in_hours(now - timedelta(days=9)), random)
    row, _ = quoted(revised, 1)
    revised.later(days=1)
    revised.send(row, message="With the earlier day we spoke of.")
    quoted(Path(in_hours(now - timedelta(days=6)), random), 3)
    asked = Path(in_hours(now - timedelta(days=4)), random)
    row, _ = asked.ask(wish(0, random), CUSTOMERS[9])
    enquiry.ask_back(
        asked.owner,
        row,
        question="Is the flange drilled for 3/8 in bolts or for bushings?",
        now=asked.later(days=1),
    )
    refused = Path(in_hours(now - timedelta(days=14)), random)
    row, _ = refused.ask(wish(7, random), CUSTOMERS[10])
    enquiry.decline(
        refused.owner, row, reason="We make no pieces of this size before spring.", now=refused.later(days=1)
    )
    gone = Path(in_hours(now - timedelta(days=16)), random)
    row, _ = gone.ask(wish(2, random), CUSTOMERS[11])
    enquiry.withdraw(Who(row.customer.name), row, now=gone.later(days=2))
    for place, customer in enumerate((0, 12, 13)):
        Path(now - timedelta(hours=30 - 9 * place), random).ask(wish(place + 1, random), CUSTOMERS[customer])


def calendar(now: datetime) -> None:
    """Days off ahead, a sick week gone by, the shop's yearly closure, and an order whose timber is on its way."""
    who, today = THE_SERVICE, timezone.localdate(now)
    shut = date(today.year + (today > date(today.year, 12, 20)), 12, 24)
    hours.close(who, first_day=shut, last_day=shut.replace(day=31), reason="Between the years", now=now)
    for key, ahead, days, reason, foreseen in AWAY:
        first = today + timedelta(days=ahead)
        person = BenchPerson.objects.get(key=key)
        people.away(
            who, person, first_day=first, last_day=first + timedelta(days=days - 1), reason=reason,
            foreseen=foreseen, now=now,
        )  # fmt: skip
    newest = Order.objects.filter(state=Order.State.QUEUED).order_by("-accepted_at").first()
    if newest:
        timber_waits.await_timber(who, newest, remark="Walnut from the mill, due next week", now=now)


def settle(now: datetime) -> None:
    """Quotes past their day lapse; of the history's papers only those a customer keeps are made, behind everything else."""
    quote.lapse_expired({})
    OutboxJob.objects.filter(
        state=OutboxJob.State.WAITING,
        kind__in=["make-paper", drawings.JOB],
        created_at__lt=now - timedelta(days=30),
    ).delete()
    for order in Order.objects.filter(state__in=[Order.State.READY, Order.State.DISPATCHED]):
        documents.ask_for_outstanding(order, now=now)
    OutboxJob.objects.filter(kind="make-paper", created_at=now).update(due_at=now + PAPERS_LATER)
