"""Old plans, forecasts and background work are thinned: what pages tell stays as it was, the newest of everything too."""

from datetime import timedelta

import pytest
from django.utils import timezone

from orders import worker
from orders.models import ForecastHistory, Order, OutboxJob, PlanVersion
from orders.services import drawings, retention
from orders.services.forecast_moves import told_of
from quoting.models import PlanOutlook
from tests.orders.shop import Shop

PLAN_ON = [40, 40, 40.4, 44, 44, 43.6, 47, 47, 47, 41, 41, 41.5, 41, 46, 46, 46]
"""Days ahead of sixteen forecasts, oldest first, ten days apart."""


def forecasts(order: Order) -> None:
    now = timezone.now()
    for n, ahead in enumerate(PLAN_ON):
        at = now - timedelta(days=10 * (len(PLAN_ON) - 1 - n))
        last = n == len(PLAN_ON) - 1
        plan = PlanVersion.objects.create(
            version=f"v{n}", as_of=at, current=last, reason=f"r{n}", snapshot={"a": 1}
        )
        day = timezone.localdate() + timedelta(days=int(ahead))
        ForecastHistory.objects.create(
            order=order, plan=plan, at=at, likely_by=day, plan_on=day, nineteen_in_twenty=day,
            causes=[["a change of rank", ahead - PLAN_ON[n - 1]], ["what the record has taught", 0.3]] if n else [],
        )  # fmt: skip
        PlanOutlook.objects.create(version=f"v{n}", as_of=at, outlook={})


@pytest.fixture(autouse=True)
def few(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(retention, "VERSIONS_KEPT", 2)


def test_an_orders_moves_are_told_the_same_after_old_forecasts_are_thinned(either: Shop) -> None:
    order = either.order()
    forecasts(order)
    before = told_of(order)
    retention.run({})
    after = told_of(order)
    assert before is not None and after == before
    assert len(before.history) > 3
    recent = timezone.now() - timedelta(days=60)
    assert ForecastHistory.objects.filter(at__gte=recent).count() == 6
    assert ForecastHistory.objects.filter(at__lt=recent).count() < 9


def test_thinning_twice_changes_nothing_more(either: Shop) -> None:
    order = either.order()
    forecasts(order)
    retention.run({})
    once = list(ForecastHistory.objects.order_by("at").values())
    retention.run({})
    assert list(ForecastHistory.objects.order_by("at").values()) == once


def test_old_plans_nobody_tells_go_and_the_current_one_stays_whatever_its_age(either: Shop) -> None:
    order = either.order()
    forecasts(order)
    PlanVersion.objects.update(as_of=timezone.now() - timedelta(days=100))
    current = PlanVersion.objects.get(current=True)
    retention.run({})
    current.refresh_from_db()
    assert current.snapshot == {"a": 1}
    left = PlanVersion.objects.exclude(pk=current.pk)
    assert {plan.forecasts.count() for plan in left} == {1}
    assert PlanVersion.objects.count() < len(PLAN_ON)
    ForecastHistory.objects.all().delete()
    retention.run({})
    assert PlanVersion.objects.count() == retention.VERSIONS_KEPT


def test_old_outlooks_go_and_the_newest_stays(either: Shop) -> None:
    forecasts(either.order())
    PlanOutlook.objects.filter(version="v15").delete()
    PlanOutlook.objects.update(as_of=timezone.now() - timedelta(days=90))
    newest = PlanOutlook.objects.first()
    retention.run({})
    assert PlanOutlook.objects.get() == newest


def done(kind: str, days: int, **more: str) -> OutboxJob:
    at = timezone.now() - timedelta(days=days)
    state = more.pop("state", OutboxJob.State.DONE)
    return OutboxJob.objects.create(kind=kind, state=state, due_at=at, created_at=at, done_at=at, **more)


def test_jobs_done_long_ago_go_but_not_those_set_aside_nor_the_last_on_a_subject(either: Shop) -> None:
    OutboxJob.objects.all().delete()
    for _ in range(3):
        done("send-mail", 90)
    fresh, dead = done("send-mail", 5), done("send-mail", 90, state=OutboxJob.State.DEAD)
    done(drawings.JOB, 95, subject="quote 1")
    last = done(drawings.JOB, 90, subject="quote 1")
    retention.run({})
    assert set(OutboxJob.objects.all()) == {fresh, dead, last}


def test_drawings_made_long_ago_are_still_known_to_be_complete(either: Shop, settings) -> None:
    quote = either.sent_quote()
    drawings.ask_for(quote, now=either.now)
    job = OutboxJob.objects.get(kind=drawings.JOB, subject=f"quote {quote.pk}")
    assert drawings.standing(quote).being_made
    old = timezone.now() - timedelta(days=settings.KEEP_DAYS + 1)
    OutboxJob.objects.filter(pk=job.pk).update(state=OutboxJob.State.DONE, done_at=old)
    retention.run({})
    assert OutboxJob.objects.filter(pk=job.pk).exists()


def test_the_worker_comes_round_to_it_by_itself(shop: Shop) -> None:
    OutboxJob.objects.all().delete()
    done("send-mail", 90)
    worker.go_round()
    OutboxJob.objects.filter(kind="tidy-up").update(due_at=timezone.now())
    OutboxJob.objects.exclude(kind__in=["tidy-up", "send-mail"]).delete()
    worker.sweep(most=1)
    assert not OutboxJob.objects.filter(kind="send-mail").exists()
