"""A shop with a plan: two at the bench, four orders in the queue, one of them promised for a day gone by."""

from datetime import timedelta

from django.utils import timezone

from orders.models import BenchPerson, Order, OutboxJob
from orders.services import replan
from tests.orders.shop import SKILLS, Shop

WEEK = [[[480, 720], [780, 1020]]] * 5 + [[], []]


def plan_once() -> None:
    """What the worker would do, in few futures."""
    futures, seconds = replan.FUTURES, replan.SECONDS
    replan.FUTURES, replan.SECONDS = 60, 0.1
    try:
        replan.replan({"reason": "a test"})
    finally:
        replan.FUTURES, replan.SECONDS = futures, seconds
    OutboxJob.objects.filter(kind="replan").update(state=OutboxJob.State.DONE)


def set_up_planned() -> None:
    """On the prepared shop, for a template database: as of today, four orders queued, planned."""
    BenchPerson.objects.create(key="ada", name="Ada", skills=SKILLS[:3], week=WEEK)
    shop = Shop(now=timezone.now())
    for n in range(4):
        order = shop.build_queued()
        promise = shop.today + timedelta(days=-3 if n == 0 else 120 + 7 * n)
        Order.objects.filter(pk=order.pk).update(promise=promise)
    plan_once()
