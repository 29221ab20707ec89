"""The customer's way from question to order by keyboard alone, with the focus to be seen at each step."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page

from orders.models import Enquiry, Order
from tests.orders.shop import Shop
from tests.portal.pages import ASKED

pytestmark = [pytest.mark.browser, pytest.mark.timeout(200), pytest.mark.xdist_group("browser")]
SEEN = """wanted => {
  const now = document.activeElement;
  if (!now || !now.matches(wanted)) return null;
  const drawn = [now, now.closest('label') || now].map(e => getComputedStyle(e));
  return drawn.some(s => s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) > 0);
}"""


def tab_to(page: Page, wanted: str) -> None:
    """Press Tab until the wanted field has the focus; it must be drawn around it."""
    for _ in range(150):
        page.keyboard.press("Tab")
        drawn = page.evaluate(SEEN, wanted)
        if drawn is not None:
            assert drawn, f"no focus to be seen on {wanted}"
            return
    raise AssertionError(f"Tab does not reach {wanted}")


def enter(page: Page, name: str, value: str) -> None:
    """Fill one field the way its kind is filled by keyboard."""
    kind = page.locator(f"[name={name}]").first.evaluate("e => e.type || e.tagName.toLowerCase()")
    if kind == "radio":
        tab_to(page, f"[name={name}]")
        for _ in range(30):
            if page.evaluate("document.activeElement.value") == value:
                break
            page.keyboard.press("ArrowDown")
        page.keyboard.press("Space")
        assert page.locator(f"[name={name}]:checked").get_attribute("value") == value
    elif kind == "select-one":
        tab_to(page, f"[name={name}]")
        page.keyboard.press("Home")
        for _ in range(300):
            if page.evaluate("document.activeElement.value") == value:
                break
            page.keyboard.press("ArrowDown")
        assert page.locator(f"[name={name}]").input_value() == value
    elif kind == "checkbox":
        tab_to(page, f"[name={name}]")
        page.keyboard.press("Space")
    else:
        tab_to(page, f"[name={name}]")
        page.keyboard.type(value)


def in_page_order(page: Page, names: list[str]) -> list[str]:
    order = page.eval_on_selector_all("[name]", "fields => fields.map(f => f.name)")
    return sorted(names, key=order.index)


def test_a_customer_asks_and_orders_by_keyboard_alone(
    look: Callable[..., Page], address: str, shop: Shop
) -> None:
    page = look()
    page.goto(f"{address}/ask/")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.getAttribute('href')") == "#content"
    for name in in_page_order(page, list(ASKED)):
        enter(page, name, ASKED[name])
    tab_to(page, "button[name=send]")
    page.keyboard.press("Enter")
    page.wait_for_url("**/enquiry/**")
    enquiry = Enquiry.objects.get()
    assert enquiry.typed["diameter"] == ASKED["diameter"]

    quote = shop.sent_quote()
    page.goto(f"{address}/quote/{quote.token}/")
    for name, value in (("name", "Alice Wren"), ("terms", "on")):
        enter(page, name, value)
    tab_to(page, "button.action")
    page.keyboard.press("Enter")
    page.wait_for_url("**/order/**")
    assert Order.objects.count() == 1
