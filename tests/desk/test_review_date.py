"""The date at the review: exact once the worker ran, looked up and said so before, and never sent unseen."""

import re
from collections.abc import Iterator

import pytest
from django.test import Client

from orders import worker
from orders.models import Enquiry, OutboxJob
from orders.services import dating, exact_dates, replan
from quoting.models import Quote
from quoting.services.quotes import results_of
from tests.orders.shop import Shop

pytestmark = pytest.mark.timeout(400)
WORKING = "The exact date is being worked out"
EXACT, LOOKED_UP = "Worked out for this very order", "Looked up among propellers of like size"


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    for module, name, value in (
        (replan, "FUTURES", 60),
        (replan, "SECONDS", 0.1),
        (dating, "FUTURES", 120),
    ):
        monkeypatch.setattr(module, name, value)
    yield


def work() -> None:
    """The worker dates what waits to be dated."""
    for job in OutboxJob.objects.filter(kind=exact_dates.JOB, state="waiting"):
        OutboxJob.objects.filter(pk=job.pk).update(due_at=job.created_at)
        assert worker.run_one(job.pk)


def page(client: Client, row: Enquiry) -> str:
    return client.get(f"/desk/enquiries/{row.number}/").content.decode()


def shown(html: str) -> str:
    found = re.search(r'name="shown" value="(\w+)"', html)
    assert found
    return found.group(1)


def send(client: Client, row: Enquiry, html: str, **more: str):
    form = {"shown": shown(html), **more}
    return client.post(f"/desk/enquiries/{row.number}/send/", form, follow=True)


def forecast():
    return results_of(Quote.objects.get(state="sent")).forecast


def test_a_quote_sent_after_the_worker_ran_carries_the_exact_runs_date(owner: Client, shop: Shop) -> None:
    shop.order()
    replan.replan({"reason": "first"})
    row = shop.enquiry()
    before = page(owner, row)
    assert WORKING in before and LOOKED_UP in before and 'hx-trigger="every 2s"' in before
    work()
    after = page(owner, row)
    assert EXACT in after and WORKING not in after and "every 2s" not in after
    send(owner, row, after)
    sent = Quote.objects.get(series__enquiry=row)
    found = results_of(sent).forecast
    assert found.exact and sent.promised_for == found.plan_on


def test_a_date_looked_up_is_sent_as_looked_up(owner: Client, shop: Shop) -> None:
    row = shop.enquiry()
    send(owner, row, page(owner, row))
    assert forecast().exact is False


def test_a_date_that_came_out_while_the_owner_looked_is_not_sent_unseen(owner: Client, shop: Shop) -> None:
    row = shop.enquiry()
    before = page(owner, row)
    work()
    answer = send(owner, row, before, message="With pleasure")
    assert not Quote.objects.exists()
    assert "changed since this page was shown" in answer.content.decode()
    assert "With pleasure" in answer.content.decode()
    send(owner, row, answer.content.decode())
    assert forecast().exact


def test_the_part_renews_the_date_and_the_hash_that_goes_with_it(owner: Client, shop: Shop) -> None:
    row = shop.enquiry()
    before = page(owner, row)
    url = f"/desk/enquiries/{row.number}/date/?shown={shown(before)}"
    assert WORKING in owner.get(url).content.decode()
    work()
    part = owner.get(url).content.decode()
    assert EXACT in part and WORKING not in part and "every 2s" not in part
    assert part.count('hx-swap-oob="true"') == 3
    send(owner, row, part)
    assert forecast().exact


def test_the_part_gives_no_new_hash_where_more_than_the_date_has_changed(owner: Client, shop: Shop) -> None:
    row = shop.enquiry()
    before = page(owner, row)
    owner.post(f"/desk/enquiries/{row.number}/terms/", {"rush": "120"})
    part = owner.get(f"/desk/enquiries/{row.number}/date/?shown={shown(before)}").content.decode()
    assert "More than the date has changed" in part and 'name="shown"' not in part and "hx-get" not in part


def test_a_change_in_between_falls_back_to_the_date_looked_up_until_it_is_dated_anew(
    owner: Client, shop: Shop
) -> None:
    row = shop.enquiry()
    work()
    assert EXACT in page(owner, row)
    owner.post(f"/desk/enquiries/{row.number}/terms/", {"rush": "120"})
    between = page(owner, row)
    assert LOOKED_UP in between and WORKING in between
    work()
    assert EXACT in page(owner, row)
    key = owner.get(f"/desk/enquiries/{row.number}/").context["price"].lines[0].key
    line = {"line": key, "quantity": "0", "rate": "", "reason": "Agreed"}
    owner.post(f"/desk/enquiries/{row.number}/line/", line)
    assert EXACT in page(owner, row)
    owner.post(f"/desk/enquiries/{row.number}/undo/", {"key": "all"})
    assert WORKING in page(owner, row)


def test_a_new_plan_makes_the_exact_date_an_old_one(owner: Client, shop: Shop) -> None:
    shop.order()
    row = shop.enquiry()
    work()
    replan.replan({"reason": "another order"})
    between = page(owner, row)
    assert LOOKED_UP in between and WORKING in between
    send(owner, row, between)
    assert not results_of(Quote.objects.get(series__enquiry=row)).forecast.exact


def test_a_run_that_failed_says_why_and_can_be_asked_for_again(owner: Client, shop: Shop) -> None:
    row = shop.enquiry()
    shop.wes.__class__.objects.update(active=False)
    work()
    failed = page(owner, row)
    assert "The exact date could not be worked out" in failed and "Work out the exact date" in failed
    shop.wes.__class__.objects.update(active=True)
    owner.post(f"/desk/enquiries/{row.number}/exact-date/", {"message": "Half a word"})
    assert WORKING in page(owner, row) and "Half a word" in page(owner, row)
    work()
    assert EXACT in page(owner, row)


def test_a_revision_starts_looked_up_and_is_dated_when_asked(owner: Client, shop: Shop) -> None:
    row = shop.enquiry()
    work()
    send(owner, row, page(owner, row))
    again = page(owner, row)
    assert LOOKED_UP in again and "Work out the exact date" in again and WORKING not in again
    owner.post(f"/desk/enquiries/{row.number}/exact-date/")
    work()
    send(owner, row, page(owner, row))
    assert results_of(Quote.objects.get(state="sent", revision=2)).forecast.exact
