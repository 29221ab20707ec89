"""The forecast's history in words: what moved it, told to each reader in their own."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from orders.models import ForecastHistory, Order, PlanVersion
from orders.services import forecast_moves
from orders.services.forecast_moves import CAUSES, CUSTOMER, told_of
from quoting.leadtime import moves as pure
from tests.orders.shop import Shop


@pytest.fixture
def order(shop: Shop) -> Order:
    return shop.order()


def forecast(
    order: Order, ahead: int, ago: int, causes: list[list[object]] | None = None, **more: object
) -> None:
    """One forecast `ahead` days ahead, made `ago` days ago."""
    at = timezone.now() - timedelta(days=ago)
    day = timezone.localdate() + timedelta(days=ahead)
    plan = PlanVersion.objects.create(version=f"v{ago}", as_of=at, current=ago == 0)
    ForecastHistory.objects.create(
        order=order, plan=plan, at=at, likely_by=day, plan_on=day + timedelta(days=7),
        nineteen_in_twenty=day + timedelta(days=14), causes=causes or [], **more,
    )  # fmt: skip


def test_every_cause_the_forecast_can_give_has_words_for_both_readers() -> None:
    named = {value for name, value in vars(pure).items() if name.isupper() and isinstance(value, str)}
    assert named == set(CAUSES)
    assert all(words.keys() == {"desk", "customer"} for words in CAUSES.values())


def test_a_move_is_told_with_its_causes_and_small_ones_add_up(order: Order) -> None:
    forecast(order, 30, 5)
    forecast(order, 30, 4, [[pure.HOURS, 0.6]])
    forecast(order, 33, 3, [[pure.HOURS, 2.0], [pure.REDO, 3.5], [pure.FASTER, -2.5]])
    forecast(order, 33, 2)
    forecast(order, 28, 1, [[pure.FASTER, -5.0]])
    told = told_of(order)
    assert told is not None
    assert [m.days for m in told.history] == [-5, 3, 0]
    assert told.history[1].causes == ("work to be done again or added", "absences, closures or hours")
    assert told.history[0].causes == ("work faster than expected, here or ahead",)


def test_the_customer_reads_it_in_plain_words_with_their_own_waits_apart(
    shop: Shop, order: Order, client: Client
) -> None:
    forecast(order, 30, 1)
    forecast(order, 36, 0, [[pure.WAITS, 6.0]], waits=["deposit", "drawing"], customer_days=9)
    told = told_of(order, CUSTOMER)
    assert told is not None
    assert (told.customer_days, told.shop_days) == (9, 27)
    page = client.get(reverse("portal:order", args=[order.token])).content.decode()
    assert "your deposit; your approval of the drawing" in page
    assert "6 days later: the wait on a deposit or an approval" in page
    assert "are usually yours" in page


def test_the_desk_reads_whose_approval_it_is(order: Order) -> None:
    forecast(order, 30, 0, waits=["mock-up"])
    told = told_of(order)
    assert told is not None and told.waits == ("the customer's approval of the mock-up, before varnish",)


def test_an_order_that_is_ready_or_ended_has_no_forecast(order: Order) -> None:
    forecast(order, 30, 0)
    for state in (Order.State.READY, Order.State.CANCELLED):
        Order.objects.filter(pk=order.pk).update(state=state)
        order.refresh_from_db()
        assert told_of(order) is None


def test_thousands_of_plans_are_read_in_one_query(order: Order, django_assert_num_queries) -> None:
    forecast(order, 30, 0)
    plan = PlanVersion.objects.get()
    day = timezone.localdate()
    many = PlanVersion.objects.bulk_create(
        PlanVersion(version=f"many {n}", as_of=plan.as_of) for n in range(600)
    )
    ForecastHistory.objects.bulk_create(
        ForecastHistory(
            order=order,
            plan=p,
            at=plan.as_of - timedelta(hours=n),
            likely_by=day,
            plan_on=day + timedelta(days=n),
            nineteen_in_twenty=day,
        )
        for n, p in enumerate(many, 1)
    )
    with django_assert_num_queries(1):
        told = told_of(order)
    assert told is not None and len(told.history) == forecast_moves.SHOWN
