"""Every page a customer reaches by links breaks no rule of WCAG 2.2 AA and is no wider than a phone."""

from collections.abc import Callable, Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import Resolver404, resolve
from playwright.sync_api import Page

from tests.orders.shop import Shop

pytestmark = [pytest.mark.browser, pytest.mark.timeout(280), pytest.mark.xdist_group("browser")]
RULES = {
    "resultTypes": ["violations"],
    "runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]},
}
NARROW = 320


def pages_from(page: Page, address: str, starts: list[str]) -> Iterator[str]:
    """Open one page of every kind that links lead to, from `starts` on; yields each one's name while it is open."""
    waiting, seen = [*starts], set()
    while waiting:
        path = waiting.pop(0)
        try:
            name = resolve(path.split("?")[0]).view_name
        except Resolver404:
            continue
        if name in seen or name.startswith("admin:"):
            continue
        seen.add(name)
        answer = page.request.get(address + path)
        assert answer.ok, f"{path} answers {answer.status}"
        if "text/html" not in answer.headers["content-type"]:
            continue
        page.goto(address + path)
        yield name
        links = page.eval_on_selector_all("a[href^='/']", "found => found.map(a => a.getAttribute('href'))")
        waiting += [link.split("#")[0] for link in links]


def faults(page: Page, address: str, *starts: str) -> list[str]:
    """What is wrong on the pages: rules broken with where, and pages that must be scrolled sideways."""
    found, axe = [], Axe()
    for name in pages_from(page, address, [*starts]):
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
        for broken in axe.run(page, context={"exclude": [["svg > *"]]}, options=RULES).response["violations"]:
            found += [f"{name}: {broken['id']} at {node['html'][:160]}" for node in broken["nodes"][:3]]
        width = page.evaluate("document.documentElement.scrollWidth")
        if width > NARROW:
            found.append(f"{name}: {width} px wide on a screen of {NARROW}")
    return found


def test_every_page_of_a_customer(look: Callable[..., Page], address: str, shop: Shop) -> None:
    order, quote, enquiry = shop.ready(), shop.sent_quote(), shop.enquiry()
    customer = look(width=NARROW)
    own = (f"/order/{order.token}/", f"/quote/{quote.token}/", f"/enquiry/{enquiry.token}/")
    assert faults(customer, address, *own) == []
