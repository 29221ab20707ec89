"""Longer questions: the worker answers them with the same random futures, changes nothing, and can be told to stop."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from orders.desk.what_if import replaced
from orders.models import Enquiry, Machine, Order, OutboxJob, PlanQuestion, PlanVersion
from orders.refusal import Refused
from orders.services import people, plan_answers, questions, replan
from tests.kit.databases import SQLiteFile
from tests.orders.shop import Shop

Q = PlanQuestion


@pytest.fixture
def shop(planned_template: SQLiteFile, django_db_blocker) -> Iterator[Shop]:
    """Four orders planned, the clock being today's: the worker reads it. Only Wes can finish a propeller."""
    with django_db_blocker.unblock(), planned_template.fresh():
        yield Shop(now=timezone.now())


@pytest.fixture
def few_futures(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan_answers, "FUTURES", 60)
    monkeypatch.setattr(plan_answers, "TELL_EVERY", 0.0)
    monkeypatch.setattr(replan, "FUTURES", 60)
    monkeypatch.setattr(replan, "SECONDS", 0.1)


@pytest.fixture
def busy(shop: Shop, few_futures: None) -> list[Order]:
    """The four orders of the queue, promised one after another."""
    rows = list(Order.objects.order_by("number"))
    for n, row in enumerate(rows):
        row.promise = shop.today + timedelta(days=60 + 14 * n)
        Order.objects.filter(pk=row.pk).update(promise=row.promise)
    return rows


def answered(row: PlanQuestion) -> Any:
    plan_answers.what_if({"question": row.pk})
    row.refresh_from_db()
    assert row.state == Q.State.DONE, row.problem
    return row.answer


def test_accepting_an_enquiry_dates_it_and_shows_what_it_does_to_the_others(
    shop: Shop, busy: list[Order]
) -> None:
    asked = shop.enquiry()
    found = answered(questions.accept(shop.owner, asked, rush=False, now=shop.now))
    assert found["newcomer"] == sorted(found["newcomer"])
    assert {e["order"] for e in found["effects"]} == {o.number for o in busy}
    assert Enquiry.objects.get(pk=asked.pk).state == "new"
    assert "rush_price" not in found


def test_a_rush_costs_the_others_days_and_is_priced_by_the_book(shop: Shop, busy: list[Order]) -> None:
    found = answered(questions.accept(shop.owner, shop.enquiry(), rush=True, now=shop.now))
    assert found["rush_order_days"] > 0
    assert found["rush_price"] > 0
    ordinary = answered(questions.accept(shop.owner, shop.enquiry(), rush=False, now=shop.now))
    assert found["newcomer"][1] < ordinary["newcomer"][1]


def test_the_last_order_rushed_comes_sooner_and_the_others_later(shop: Shop, busy: list[Order]) -> None:
    found = answered(questions.rush(shop.owner, busy[3], before=busy[0], now=shop.now))
    by_order = {e["order"]: e for e in found["effects"]}
    assert by_order[busy[3].number]["mean_days"] < 0
    assert sum(e["mean_days"] for e in found["effects"] if e["order"] != busy[3].number) > 0
    busy[3].refresh_from_db()
    assert (busy[3].rank, busy[3].rush) == (None, False)


def test_an_absence_makes_promises_late_before_anything_is_written(shop: Shop, busy: list[Order]) -> None:
    first = shop.today + timedelta(days=1)
    row = questions.away(
        shop.owner, shop.wes, first_day=first, last_day=first + timedelta(days=120), now=shop.now
    )
    found = answered(row)
    assert found["become_late"] == 4
    assert all(e["late_after"] > 0.9 for e in found["effects"])
    assert not shop.wes.absences.exists()


def test_the_same_question_gets_the_same_answer(shop: Shop, busy: list[Order]) -> None:
    saw = Machine.objects.get()
    first = answered(questions.machine(shop.owner, saw, now=shop.now))
    assert answered(questions.machine(shop.owner, saw, now=shop.now)) == first


def test_saturdays_and_a_closure_can_be_tried(shop: Shop, busy: list[Order]) -> None:
    more = answered(questions.weekday(shop.owner, [shop.wes], 5, [[480, 720]], now=shop.now))
    assert sum(e["mean_days"] for e in more["effects"]) < 0
    days = {"first_day": shop.today, "last_day": shop.today + timedelta(days=20)}
    less = answered(questions.closed(shop.owner, **days, now=shop.now))
    assert sum(e["mean_days"] for e in less["effects"]) > 0


def test_what_cannot_be_computed_ends_with_its_cause(shop: Shop, few_futures: None) -> None:
    order = Order.objects.order_by("number")[0]
    row = questions.rush(shop.owner, order, before=None, now=shop.now)
    Order.objects.filter(pk=order.pk).update(state=Order.State.HELD, held_from=Order.State.QUEUED)
    plan_answers.what_if({"question": row.pk})
    row.refresh_from_db()
    assert (row.state, order.number in row.problem) == (Q.State.FAILED, True)


def test_a_cancelled_question_is_not_answered(shop: Shop, busy: list[Order]) -> None:
    row = questions.machine(shop.owner, Machine.objects.get(), now=shop.now)
    questions.cancel(shop.owner, row, now=shop.now)
    plan_answers.what_if({"question": row.pk})
    row.refresh_from_db()
    assert (row.state, row.answer) == (Q.State.CANCELLED, {})
    with pytest.raises(Refused, match="ended already"):
        questions.cancel(shop.owner, row, now=shop.now)


def test_a_longer_search_lets_its_plan_stand_and_tells_how_far_it_is(
    shop: Shop, busy: list[Order], monkeypatch: pytest.MonkeyPatch
) -> None:
    OutboxJob.objects.create(kind="replan", due_at=shop.now, created_at=shop.now)
    monkeypatch.setattr(questions, "SECONDS", (1,))
    row = questions.search(shop.owner, seconds=1, now=shop.now)
    with pytest.raises(Refused, match="under way"):
        questions.search(shop.owner, seconds=1, now=shop.now)
    plan_answers.search({"question": row.pk})
    row.refresh_from_db()
    assert (row.state, row.answer["kept"], row.share) == (
        Q.State.DONE,
        False,
        1.0,
    )  # a new plan is due: it wins
    assert row.told["tried"] > 0


def test_a_longer_search_stands_when_nothing_has_changed(
    shop: Shop, busy: list[Order], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(questions, "SECONDS", (1,))
    row = questions.search(shop.owner, seconds=1, now=shop.now)
    plan_answers.search({"question": row.pk})
    row.refresh_from_db()
    assert row.answer["kept"]
    assert PlanVersion.objects.get(current=True).reason == "a longer search"


def test_a_search_told_to_stop_keeps_its_best_so_far(
    shop: Shop, busy: list[Order], monkeypatch: pytest.MonkeyPatch
) -> None:
    row = questions.search(shop.owner, seconds=180, now=shop.now)
    tell = plan_answers.Teller.tell

    def tell_and_cancel(self: plan_answers.Teller, share: float, **told: Any) -> bool:
        questions.cancel(shop.owner, row, now=shop.now)
        return tell(self, share, **told)

    monkeypatch.setattr(plan_answers.Teller, "tell", tell_and_cancel)
    plan_answers.search({"question": row.pk})
    row.refresh_from_db()
    assert (row.state, row.answer["kept"]) == (Q.State.CANCELLED, True)
    assert row.share < 0.5


def test_only_the_owner_asks(shop: Shop) -> None:
    with pytest.raises(Refused) as refused:
        questions.machine(shop.at_bench, Machine.objects.get(), now=shop.now)
    assert refused.value.status == 403
    assert not Q.objects.exists()


def test_an_answer_says_when_another_plan_stands(shop: Shop, busy: list[Order]) -> None:
    row = questions.machine(shop.owner, Machine.objects.get(), now=shop.now)
    answered(row)
    assert not replaced(row)
    people.away(shop.owner, shop.wes, first_day=shop.today, last_day=shop.today, now=shop.now)
    replan.replan({"reason": "test"})
    assert replaced(row)


def test_only_the_newest_plan_keeps_its_work_and_snapshot(shop: Shop, busy: list[Order]) -> None:
    people.away(shop.owner, shop.wes, first_day=shop.today, last_day=shop.today, now=shop.now)
    replan.replan({"reason": "test"})
    newest, old = PlanVersion.objects.all()
    assert newest.current and newest.plan["assignments"] and newest.snapshot["orders"]
    assert (old.plan, set(old.snapshot)) == ({}, {"calibration"})
