"""A promised day counts on acceptance, deposit and drawing by a day the quote names, and moves with what comes later."""

from datetime import timedelta

import pytest
from django.utils.formats import date_format

from orders.models import Mail
from orders.services import queue
from quoting.services.quotes import results_of


def days_of_customer(shop, days: int):
    """An order whose customer takes so many days from the quote's sending to joining the queue."""
    order = shop.order()
    said = results_of(order.quote).forecast
    shop.later(days=days - (shop.today - order.quote.issued_at.date()).days)
    shop.pay(order)
    shop.approve(order, "drawing")
    order.refresh_from_db()
    return order, said


def test_in_time_the_day_stands(shop):
    order, said = days_of_customer(shop, 3)
    assert order.state == order.State.QUEUED
    assert shop.today <= said.counts_on
    assert order.promise == order.quote.promised_for


@pytest.mark.parametrize("late", [1, 20, 200])
def test_each_day_later_moves_it_a_day_to_a_working_day(shop, late):
    order = shop.order()
    said = results_of(order.quote).forecast
    shop.now += timedelta(days=(said.counts_on - shop.today).days + late)
    shop.pay(order)
    shop.approve(order, "drawing")
    order.refresh_from_db()
    moved = (order.promise - order.quote.promised_for).days
    assert late <= moved <= late + 7
    assert order.promise.weekday() < 5
    assert f"plan on {date_format(order.promise, 'j F Y')}" in Mail.objects.get(kind="order-queued").body


def test_days_the_workshop_held_the_order_move_nothing(shop):
    order = shop.order()
    queue.hold(shop.owner, order, reason="The hub is measured again.", now=shop.now)
    shop.pay(order)
    shop.approve(order, "drawing")
    shop.later(days=90)
    queue.release_hold(shop.owner, order, now=shop.now)
    order.refresh_from_db()
    assert order.state == order.State.QUEUED
    assert order.promise == order.quote.promised_for
