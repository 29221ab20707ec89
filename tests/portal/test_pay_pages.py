"""Paying: while a card payment is under way nothing invites to pay again, and it can be gone on with or ended."""

from collections.abc import Iterator

import pytest
from django.test import Client

from orders.models import Order, PaymentAttempt
from orders.services import payment
from orders.who import by_link
from tests.kit.provider import SECRET, StandIn, stand_in
from tests.orders.shop import Shop


@pytest.fixture(scope="module")
def provider() -> Iterator[StandIn]:
    with stand_in() as running:
        yield running


@pytest.fixture
def cards(settings, provider: StandIn) -> StandIn:
    settings.STRIPE_API_KEY = "sk_test_pages"
    settings.STRIPE_API_BASE = provider.address
    settings.STRIPE_WEBHOOK_SECRETS = [SECRET]
    return provider


def pay_page(client: Client, order: Order) -> str:
    return client.get(f"/order/{order.token}/pay/deposit/").content.decode()


def begun(shop: Shop, order: Order) -> PaymentAttempt:
    return payment.start_card_payment(
        by_link("Alice Wren"), order.payment_requests.get(), success_url="http://127.0.0.1/a",
        cancel_url="http://127.0.0.1/b", now=shop.now,
    )  # fmt: skip


def test_before_a_card_payment_both_ways_are_offered(anyone, shop: Shop, cards):
    page = pay_page(anyone, shop.order())
    assert "IBAN DE00" in page and "by card</button>" in page and "under way" not in page


def test_while_a_card_payment_is_under_way_nothing_invites_to_pay_again(anyone, shop: Shop, cards):
    order = shop.order()
    begun(shop, order)
    page = pay_page(anyone, order)
    assert "A card payment is under way" in page and "do not pay a second time" in page
    assert "IBAN DE00" not in page and "Still open" not in page and "by card</button>" not in page


def test_the_order_says_that_a_payment_is_under_way_and_asks_for_none(anyone, shop: Shop, cards):
    order = shop.order()
    begun(shop, order)
    page = anyone.get(f"/order/{order.token}/").content.decode()
    assert "The deposit is being paid by card" in page and "Pay the deposit" not in page


def test_going_on_leads_to_the_same_payment(anyone, shop: Shop, cards):
    order = shop.order()
    attempt = begun(shop, order)
    again = anyone.post(f"/order/{order.token}/pay/deposit/card/")
    assert again.url == attempt.url and PaymentAttempt.objects.count() == 1


def test_a_card_payment_that_was_not_finished_can_be_ended_and_paid_by_transfer(anyone, shop: Shop, cards):
    order = shop.order()
    attempt = begun(shop, order)
    anyone.post(f"/order/{order.token}/pay/deposit/card/end/")
    attempt.refresh_from_db()
    assert attempt.state == "expired" and "IBAN DE00" in pay_page(anyone, order)


def test_ending_a_card_payment_that_was_paid_meanwhile_books_it(anyone, shop: Shop, cards):
    order = shop.order()
    cards.pay(begun(shop, order).session)
    anyone.post(f"/order/{order.token}/pay/deposit/card/end/")
    assert order.payment_requests.get().is_settled and "Paid in full" in pay_page(anyone, order)
