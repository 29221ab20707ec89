"""The review in a browser: its strip stays in sight, and Enter does what stands under the box or keeps what is typed."""

from collections.abc import Callable

from django.contrib.auth.models import User
from playwright.sync_api import Page

from orders.services import review
from quoting.models import Quote
from tests.orders.shop import Shop
from tests.portal.conftest import signed_in


def opened(look: Callable[..., Page], address: str, number: str, *, script: bool) -> Page:
    page = look(signed_in(User.objects.get(username="owner")), width=390, script=script)
    page.goto(f"{address}/desk/enquiries/{number}/")
    return page


def test_enter_changes_the_line_and_leads_to_the_price(
    look: Callable[..., Page], address: str, shop: Shop
) -> None:
    enquiry = shop.enquiry()
    page = opened(look, address, enquiry.number, script=True)
    page.locator("[name=message]").fill("Drafted with care")
    page.locator("summary", has_text="Change a line").click()
    page.locator("[name=line]").select_option("timber")
    page.locator("[name=quantity]").fill("3")
    page.locator("[name=reason]").fill("Own stock")
    page.locator("[name=reason]").press("Enter")
    page.wait_for_url("**/#price")
    assert page.locator("[name=message]").input_value() == "Drafted with care"
    strip, price = (page.locator(place).bounding_box() for place in (".strip", "#price h2"))
    assert strip and price and strip["y"] == 0 and price["y"] >= strip["height"]
    page.get_by_role("button", name="Send the quote").click()
    page.wait_for_selector("text=The quote is sent.")
    assert Quote.objects.get().message == "Drafted with care"


def test_without_scripts_enter_only_keeps_what_is_typed(
    look: Callable[..., Page], address: str, shop: Shop
) -> None:
    enquiry = shop.enquiry()
    page = opened(look, address, enquiry.number, script=False)
    page.locator("summary", has_text="Add a line of your own").click()
    page.locator("[name=label]").fill("Spare hub bolts")
    page.locator("[name=label]").press("Enter")
    page.wait_for_selector("text=Nothing is sent.")
    assert page.locator("[name=label]").input_value() == "Spare hub bolts"
    assert review.changes_of(enquiry) == review.NOTHING and not Quote.objects.exists()
