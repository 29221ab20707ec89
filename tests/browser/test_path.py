"""The whole path in a browser: ask, quote, accept, deposit, approve, build, release, dispatch; and what is shown."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.utils import timezone
from playwright.sync_api import Page

from orders.models import Enquiry, Order, Stage
from quoting.models import Quote
from tests.orders.shop import sound
from tests.portal.conftest import signed_in
from tests.portal.pages import ASKED

pytestmark = [pytest.mark.browser, pytest.mark.timeout(240), pytest.mark.xdist_group("browser")]


def fill(page: Page, values: dict[str, str]) -> None:
    """Fill a form by the names of its fields, whatever kind they are."""
    for name, value in values.items():
        field = page.locator(f"[name={name}]").first
        kind = field.evaluate("e => e.type || e.tagName.toLowerCase()")
        if kind == "radio":
            page.locator(f"[name={name}][value='{value}']").check(force=True)
        elif kind == "select-one":
            field.select_option(value)
        elif kind == "checkbox":
            field.check()
        else:
            field.fill(value)


def let_rest(stage_id: int) -> None:
    """Let the wait after the stages before this one be over: the clock of the shop is not the test's to turn."""
    stage = Stage.objects.get(pk=stage_id)
    Stage.objects.filter(propeller=stage.propeller, position__lt=stage.position).update(
        finished_at=timezone.now() - timedelta(days=30)
    )


def record(page: Page, address: str, stage: Stage) -> None:
    """Start a stage on its page and record what was measured."""
    let_rest(stage.pk)
    page.goto(f"{address}/desk/bench/{stage.pk}/")
    if stage.key != "inspect":
        page.get_by_role("button", name="Start").click()
    fill(page, {key: str(value) for key, value in sound(stage.propeller, stage.key).items()})
    fill(page, {"minutes": str(max(1, stage.minutes))})
    page.get_by_role("button", name="Record").click()


def test_from_enquiry_to_dispatch(look: Callable[..., Page], address: str, tmp_path: Path) -> None:
    customer = look()
    customer.goto(f"{address}/ask/")
    fill(customer, ASKED)
    customer.wait_for_selector("text=not binding")
    assert "Yellow birch" in customer.inner_text("main")
    customer.get_by_role("button", name="Send my enquiry").click()
    customer.wait_for_url("**/enquiry/**")
    enquiry = Enquiry.objects.get()

    owner = look(signed_in(User.objects.get(username="owner")))
    owner.goto(f"{address}/desk/enquiries/{enquiry.number}/")
    assert "Margin" in owner.inner_text("main")
    owner.get_by_role("button", name="Send the quote").click()
    owner.wait_for_selector("text=The quote is sent.")

    quote = Quote.objects.get(state="sent")
    customer.goto(f"{address}/quote/{quote.token}/")
    assert quote.series.number in customer.inner_text("main")
    fill(customer, {"name": "Alice Wren", "terms": "on"})
    customer.get_by_role("button", name="Order with obligation to pay").click()
    customer.wait_for_url("**/order/**")
    order = Order.objects.get()
    assert "deposit" in customer.inner_text("main").lower()

    pay(owner, address, order, "deposit")
    for kind in ("drawing", "mock-up"):
        customer.goto(f"{address}/order/{order.token}/{kind}/1/")
        fill(customer, {"name": "Alice Wren"})
        customer.locator("button[value=approve]").click()
    order.refresh_from_db()
    assert order.state == "queued"

    bench = look(signed_in(User.objects.get(username="bench")), width=390)
    bench.goto(f"{address}/desk/bench/")
    for stage in Stage.objects.filter(propeller__order=order).order_by("position"):
        record(bench, address, Stage.objects.select_related("propeller__order").get(pk=stage.pk))
    order.refresh_from_db()
    assert order.state == "ready"

    owner.goto(f"{address}/desk/orders/{order.number}/")
    owner.get_by_role("button", name="Issue the invoice").click()
    owner.wait_for_selector("text=The invoice is issued")
    pay(owner, address, order, "balance")
    owner.locator("[name=carrier]").fill("Marsh Carriers")
    owner.get_by_role("button", name="Dispatch with record").click()
    owner.wait_for_selector("text=Dispatched. Record and care sheet are being made")
    customer.goto(f"{address}/order/{order.token}/")
    assert "Dispatched" in customer.inner_text("main")
    owner.goto(f"{address}/desk/books/")
    assert "The books balance" in owner.inner_text("main")


def pay(owner: Page, address: str, order: Order, kind: str) -> None:
    """The owner records the transfer of a whole request."""
    asked = order.payment_requests.get(kind=kind)
    owner.goto(f"{address}/desk/orders/{order.number}/")
    owner.locator("[name=amount]").fill(f"{asked.amount / 100:.2f}")
    owner.locator("[name=bank_reference]").fill(f"statement 7 {kind}")
    owner.get_by_role("button", name="Record it").click()
    owner.wait_for_selector("text=The transfer is in the books.")
    assert asked.is_settled


def test_pages_fit_every_width(look: Callable[..., Page], address: str) -> None:
    page = look()
    for path in ("/", "/ask/", "/terms/", "/account/login/"):
        for width in (320, 390, 1280):
            page.set_viewport_size({"width": width, "height": 900})
            page.goto(address + path)
            assert page.evaluate("document.documentElement.scrollWidth") <= width, f"{path} at {width} px"


def test_the_ask_page_answers_without_javascript(look: Callable[..., Page], address: str) -> None:
    page = look(script=False)
    page.goto(f"{address}/ask/")
    fill_plainly(page)
    page.get_by_role("button", name="Answer with what I typed").click()
    assert "Plan on" in page.inner_text("main") or "plan on" in page.inner_text("main")


def fill_plainly(page: Page) -> None:
    for name, value in ASKED.items():
        field = page.locator(f"[name={name}]").first
        if page.locator(f"[name={name}][type=radio]").count():
            page.locator(f"[name={name}][value='{value}']").check(force=True)
        elif page.locator(f"select[name={name}]").count():
            page.locator(f"select[name={name}]").select_option(value)
        else:
            field.fill(value)
