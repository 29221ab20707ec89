"""A deposit paid by card in the browser: over to the provider's page, back again, and booked once its message came."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page

from orders.models import OutboxJob, Payment
from orders.services.verify import faults
from orders.worker import JOBS
from tests.kit.provider import SECRET, stand_in
from tests.orders.shop import Shop

pytestmark = [pytest.mark.browser, pytest.mark.timeout(120), pytest.mark.xdist_group("browser")]


def let_the_page_go_there(settings, place: str) -> None:
    rules = settings.CONTENT_SECURITY_POLICY["DIRECTIVES"]
    settings.CONTENT_SECURITY_POLICY = {
        "DIRECTIVES": {**rules, "form-action": [*rules["form-action"], place]}
    }


def test_a_deposit_is_paid_by_card(look: Callable[..., Page], address: str, shop: Shop, settings) -> None:
    order = shop.order()
    asked = order.payment_requests.get(kind="deposit")
    with stand_in(f"{address}/webhooks/card/") as provider:
        settings.STRIPE_API_KEY = "sk_test_standin"
        settings.STRIPE_API_BASE = provider.address
        settings.STRIPE_WEBHOOK_SECRETS = [SECRET]
        let_the_page_go_there(settings, provider.address)
        customer = look(width=390)
        customer.goto(f"{address}/order/{order.token}/pay/deposit/")
        customer.get_by_role("button", name="by card").click()
        customer.get_by_role("button", name="Pay now").click()
        customer.wait_for_url("**/pay/deposit/")
        assert "A card payment is under way" in customer.inner_text("main")
        for _ in range(50):
            if OutboxJob.objects.filter(kind="apply-event", state="waiting").exists():
                break
            customer.wait_for_timeout(100)
        for job in OutboxJob.objects.filter(kind="apply-event", state="waiting"):
            JOBS[job.kind](job.payload)
        customer.get_by_role("link", name="Look again").click()
        customer.wait_for_selector("text=Paid in full")
    assert Payment.objects.filter(request=asked).count() == 1
    assert list(faults()) == []
