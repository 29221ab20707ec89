"""Chromium and the prepared shop behind a real web address."""

import os
import shutil
from collections.abc import Callable, Iterator

import pytest
from django.test import Client
from playwright.sync_api import Browser, Page, sync_playwright

from tests.kit.web import web
from tests.orders.shop import Shop
from tests.portal.conftest import shop, signed_in  # noqa: F401

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One browser for all tests. The database is used beside playwright's loop in the same thread."""
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def address(shop: Shop, settings) -> Iterator[str]:  # noqa: F811
    with web() as where:
        settings.BASE_URL = where
        yield where


@pytest.fixture
def look(chromium: Browser, address: str) -> Iterator[Callable[..., Page]]:
    """A page of a given width, signed in as somebody or as nobody; anything wrong on the console fails the test."""
    contexts = []
    said: list[str] = []

    def opened(client: Client | None = None, width: int = 1280, script: bool = True) -> Page:
        context = chromium.new_context(viewport={"width": width, "height": 900}, java_script_enabled=script)
        contexts.append(context)
        if client:
            key = client.cookies["sessionid"].value
            context.add_cookies([{"name": "sessionid", "value": key, "url": address}])
        page = context.new_page()
        page.on("console", lambda m: said.append(f"{m.text} {m.location}") if m.type == "error" else None)
        page.on("pageerror", lambda e: said.append(str(e)))
        page.set_default_timeout(20_000)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert [line for line in said if "favicon" not in line] == []
