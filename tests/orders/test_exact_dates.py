"""The exact date of an enquiry: run by the worker, in the quote where it fits what is quoted, else honestly left out."""

from collections.abc import Iterator
from datetime import timedelta

import pytest
from django.utils import timezone

from orders import worker
from orders.models import Enquiry, ExactDate, Order, OutboxJob
from orders.refusal import Refused
from orders.services import dating, enquiry, exact_dates, quote, replan
from orders.services.quote import NO_CHANGES, Review, preview
from orders.who import by_link
from quoting.estimate import Estimate
from quoting.leadtime.outlook import Forecast
from quoting.models import Quote
from quoting.pricing.money import Money
from quoting.services.quotes import results_of
from tests.orders.shop import ADDRESS, TYPED, Shop

pytestmark = pytest.mark.timeout(400)
RUSH = Review(rush=Money.from_minor(12_000, "EUR"))


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    for name, value in (("FUTURES", 60), ("SECONDS", 0.1)):
        monkeypatch.setattr(replan, name, value)
    monkeypatch.setattr(dating, "FUTURES", 120)
    yield


def now_in(shop: Shop) -> Shop:
    """The shop at this very moment, as the worker's clock is."""
    shop.now = timezone.now()
    return shop


def work(kind: str = exact_dates.JOB) -> None:
    """What the worker does of one kind, due or not, and nothing else."""
    OutboxJob.objects.filter(kind=kind).update(due_at=timezone.now())
    for job in OutboxJob.objects.filter(kind=kind, state="waiting"):
        assert worker.run_one(job.pk), OutboxJob.objects.get(pk=job.pk).last_error


def made_of(row: Enquiry, review: Review = NO_CHANGES) -> Estimate:
    return preview(row, review, today=timezone.localdate())


def sent(shop: Shop, row: Enquiry, review: Review = NO_CHANGES) -> Quote:
    shop.now = timezone.now()
    draft = quote.prepare_quote(shop.owner, row, review, today=timezone.localdate(), now=shop.now)
    return quote.send_quote(shop.owner, draft, now=shop.now)


def forecast_in(row: Quote) -> Forecast:
    found = results_of(Quote.objects.get(pk=row.pk)).forecast
    assert found is not None
    return found


def test_a_quote_sent_after_the_worker_ran_carries_the_exact_date(either: Shop) -> None:
    shop = now_in(either)
    shop.order()
    replan.replan({"reason": "first"})
    row = shop.enquiry()
    looked_up = made_of(row).forecast
    assert looked_up is not None and not looked_up.exact
    work()
    exact = exact_dates.dated(row, made_of(row), rush=False).forecast
    out = sent(shop, row)
    assert exact is not None and forecast_in(out) == exact and exact.exact
    assert (out.promised_for, out.plan_version) == (exact.plan_on, looked_up.plan_version)
    assert not ExactDate.objects.exists()


def test_a_quote_sent_before_the_worker_ran_carries_the_date_looked_up_and_says_so(either: Shop) -> None:
    shop = now_in(either)
    row = shop.enquiry()
    assert exact_dates.dated(row, made_of(row), rush=False).being_made
    out = sent(shop, row)
    assert not forecast_in(out).exact
    work()
    assert not forecast_in(out).exact
    assert not ExactDate.objects.exists()


def test_a_run_for_another_class_or_another_plan_does_not_fit(shop: Shop) -> None:
    now_in(shop).order()
    row = shop.enquiry()
    work()
    assert exact_dates.dated(row, made_of(row), rush=False).forecast.exact
    assert not exact_dates.dated(row, made_of(row, RUSH), rush=True).forecast.exact
    assert not forecast_in(sent(shop, row, RUSH)).exact
    row = shop.enquiry()
    work()
    replan.replan({"reason": "another plan"})
    found = exact_dates.dated(row, made_of(row), rush=False)
    assert not found.forecast.exact and found.being_made


def test_a_change_of_the_enquiry_is_dated_anew(shop: Shop) -> None:
    now_in(shop)
    row = shop.enquiry()
    work()
    first = exact_dates.dated(row, made_of(row), rush=False).forecast
    row = enquiry.change_enquiry(
        by_link("Alice"), row, typed={**TYPED, "quantity": "4"}, specification=None, estimate=None,
        address=ADDRESS, now=timezone.now(),
    )  # fmt: skip
    between = exact_dates.dated(row, made_of(row), rush=False)
    assert between.being_made and not between.forecast.exact
    work()
    second = exact_dates.dated(row, made_of(row), rush=False).forecast
    assert second.exact and second.plan_on > first.plan_on


def test_after_a_new_plan_all_that_waits_for_a_quote_is_dated_again_once_it_is_quiet(shop: Shop) -> None:
    now_in(shop).order()
    row, declined = shop.enquiry(), shop.enquiry()
    enquiry.decline(shop.owner, declined, reason="Too large", now=shop.now)
    work()
    ExactDate.objects.all().delete()
    replan.replan({"reason": "first"})
    replan.replan({"reason": "second"})
    job = OutboxJob.objects.get(kind=exact_dates.JOB, state="waiting")
    assert job.payload == {"enquiry": row.pk}
    assert job.due_at - timezone.now() > exact_dates.AFTER_A_PLAN - timedelta(seconds=8)
    work()
    found = exact_dates.dated(row, made_of(row), rush=False)
    assert found.forecast.exact and not ExactDate.objects.filter(enquiry=declined).exists()


def test_what_is_asked_at_the_desk_does_not_wait_for_the_quiet(shop: Shop) -> None:
    now_in(shop)
    row = shop.enquiry()
    work()
    exact_dates.ask_again(now=timezone.now())
    exact_dates.ask_for(shop.owner, row, rush=True, overridden=False, now=timezone.now())
    assert OutboxJob.objects.get(kind=exact_dates.JOB, state="waiting").due_at <= timezone.now()
    work()
    found = exact_dates.dated(row, made_of(row, RUSH), rush=True)
    assert found.forecast.exact
    with pytest.raises(Refused):
        exact_dates.ask_for(shop.at_bench, row, rush=True, overridden=False, now=timezone.now())


def test_the_owners_own_promise_stands_whatever_the_run_says(shop: Shop) -> None:
    now_in(shop)
    row = shop.enquiry()
    work()
    day = timezone.localdate() + timedelta(days=400)
    out = sent(shop, row, Review(promised_for=day))
    assert forecast_in(out).exact and out.promised_for == day


def test_what_is_asked_while_a_run_is_under_way_is_not_answered_by_it(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    now_in(shop)
    row = shop.enquiry()
    real = dating.exact

    def slow(*args: object, **options: object) -> Forecast:
        monkeypatch.setattr(dating, "exact", real)
        exact_dates.ask_for(shop.owner, row, rush=True, overridden=False, now=timezone.now())
        return real(*args, **options)

    monkeypatch.setattr(dating, "exact", slow)
    work()
    assert ExactDate.objects.get().state == ExactDate.State.ASKED
    work()
    assert exact_dates.dated(row, made_of(row, RUSH), rush=True).forecast.exact


def test_a_shop_that_cannot_be_simulated_leaves_the_date_looked_up_with_the_cause(shop: Shop) -> None:
    now_in(shop)
    row = shop.enquiry()
    shop.wes.__class__.objects.update(active=False)
    work()
    found = exact_dates.dated(row, made_of(row), rush=False)
    assert not found.forecast.exact and found.problem and found.may_be_asked
    assert not forecast_in(sent(shop, row)).exact


def test_an_accepted_quote_promises_the_exact_day(shop: Shop) -> None:
    now_in(shop)
    row = shop.enquiry()
    work()
    out = sent(shop, row)
    order: Order = shop.accept(out)
    assert order.promise == forecast_in(out).plan_on
