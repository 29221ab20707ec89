"""The wall calendar by keyboard alone, without scripts by its forms, and its pages under the accessibility rules."""

from collections.abc import Callable, Iterator

import pytest
from django.contrib.auth.models import User
from django.core.cache import caches
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page

from orders.models import Order, PlanDecision, Stage
from orders.services import decisions, questions
from tests.browser.test_accessible import NARROW, faults
from tests.kit.databases import SQLiteFile
from tests.kit.planned_shop import plan_once
from tests.orders.shop import Shop
from tests.portal.conftest import signed_in

pytestmark = [pytest.mark.browser, pytest.mark.timeout(280), pytest.mark.xdist_group("browser")]


@pytest.fixture
def shop(planned_template: SQLiteFile, django_db_blocker) -> Iterator[Shop]:
    caches["here"].clear()
    with django_db_blocker.unblock(), planned_template.fresh():
        yield Shop(now=timezone.now())


@pytest.fixture
def desk(look: Callable[..., Page], address: str, shop: Shop) -> Page:
    page = look(signed_in(User.objects.get(username="owner")))
    page.goto(f"{address}/desk/plan/")
    return page


def focused(page: Page) -> int:
    """The stage whose work has the focus on the calendar; 0 for none."""
    return int(page.evaluate("document.activeElement.dataset.stage || 0"))


def day_of_focus(page: Page) -> str:
    return str(page.evaluate("document.activeElement.closest('td').dataset.day"))


def tab_to_the_calendar(page: Page) -> int:
    for _ in range(80):
        page.keyboard.press("Tab")
        if focused(page):
            return focused(page)
    raise AssertionError("the Tab key never reaches the work on the calendar")


def press(page: Page, key: str, *, standing: int) -> None:
    """A key that sends a decision and comes back to the calendar; afterwards so many decisions stand."""
    with page.expect_navigation():
        page.keyboard.press(key)
    for _ in range(100):
        if PlanDecision.objects.filter(undone_at=None).count() == standing:
            break
        page.wait_for_timeout(100)
    assert PlanDecision.objects.filter(undone_at=None).count() == standing
    page.wait_for_function("document.activeElement.dataset.stage")


def test_the_plan_is_changed_and_changed_back_by_keys_alone(desk: Page) -> None:
    first = tab_to_the_calendar(desk)
    begins = day_of_focus(desk)
    desk.keyboard.press("ArrowRight")
    assert day_of_focus(desk) > begins
    desk.keyboard.press("ArrowLeft")
    assert (focused(desk), day_of_focus(desk)) == (first, begins)
    press(desk, "f", standing=1)
    stage = Stage.objects.get(pk=first)
    assert stage.locked_person is not None
    assert timezone.localdate(stage.not_before) >= timezone.localdate()
    assert focused(desk) == first  # the focus is where it was
    assert desk.get_by_text("fixed").first.is_visible()
    press(desk, "Shift+ArrowRight", standing=2)
    moved = Stage.objects.get(pk=first)
    assert moved.not_before > stage.not_before
    is_last = decisions.turn()[-1].pk == moved.propeller.order_id
    press(desk, "s" if is_last else "l", standing=3)
    assert Order.objects.exclude(rank=None).exists()
    for left in (2, 1, 0):
        press(desk, "z", standing=left)
    stage = Stage.objects.get(pk=first)
    assert (stage.locked_person, stage.not_before) == (None, None)


def test_work_goes_to_the_next_person_who_can_do_it_and_to_nobody_else(desk: Page) -> None:
    tab_to_the_calendar(desk)
    carved = Stage.objects.filter(key="condition").order_by("propeller__order__promise").first()
    desk.locator(f'a.work[data-stage="{carved.pk}"]').first.focus()
    row = desk.evaluate("document.activeElement.closest('tr').dataset.person")
    press(desk, "Shift+ArrowDown" if row == "ada" else "Shift+ArrowUp", standing=1)
    assert Stage.objects.get(pk=carved.pk).locked_person.key == ("wes" if row == "ada" else "ada")
    only_wes = Stage.objects.filter(key="track").first()
    work = desk.locator(f'a.work[data-stage="{only_wes.pk}"]')
    if work.count():
        work.first.focus()
        desk.keyboard.press("Shift+ArrowUp")
        assert desk.locator("#wall-says").inner_text() == "Nobody further that way can do this."


def test_keys_typed_elsewhere_do_nothing(desk: Page) -> None:
    desk.locator("#seconds").focus()
    for key in "frslz":
        desk.keyboard.press(key)
    assert desk.url.endswith("/desk/plan/")
    assert not PlanDecision.objects.exists()


def test_without_scripts_every_decision_has_its_form(
    look: Callable[..., Page], address: str, shop: Shop
) -> None:
    page = look(signed_in(User.objects.get(username="owner")), width=390, script=False)
    page.goto(f"{address}/desk/plan/")
    page.locator("a.work").first.click()
    page.select_option("#id_person", "wes")
    page.click("text=Keep it so")
    page.click("text=Back to the calendar")
    assert page.locator(".wall .marks", has_text="fixed").count()
    page.click("text=Undo this")
    assert not PlanDecision.objects.filter(undone_at=None).exists()


def test_a_new_plan_comes_onto_the_page_by_itself(desk: Page) -> None:
    tab_to_the_calendar(desk)
    press(desk, "f", standing=1)
    assert desk.get_by_text("A new plan is being made").is_visible()
    with desk.expect_navigation(timeout=15_000):
        plan_once()
    assert not desk.get_by_text("A new plan is being made").count()


def test_every_page_of_the_desk_breaks_no_rule_and_fits_a_small_phone(
    look: Callable[..., Page], address: str, shop: Shop
) -> None:
    asked = questions.away(shop.owner, shop.wes, first_day=shop.today, last_day=shop.today, now=shop.now)
    shop.enquiry()
    shop.build(Order.objects.earliest("pk"), until="balance")
    page = look(signed_in(User.objects.get(username="owner")), width=NARROW)
    assert faults(page, address, "/desk/", reverse("desk:question", args=[asked.pk])) == []
