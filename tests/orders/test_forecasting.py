"""What the worker's forecasts are made from, and why an order's date has moved."""

from datetime import timedelta
from math import exp

import pytest
from django.utils.timezone import localdate

from orders.models import Absence, ForecastHistory, PlanVersion
from orders.services import redoing, replan
from orders.services import shop as tables
from orders.services.history import history_of
from orders.services.knowledge import knowledge, learnt
from quoting.leadtime.calendar import Calendar
from quoting.leadtime.calibration import Calibration

pytestmark = pytest.mark.timeout(400)


def calendar_of(shop) -> Calendar:
    return Calendar(tables.shop_of(shop.today))


def test_the_record_holds_each_visit_wait_and_date_given(shop):
    order = shop.ready()
    calendar = calendar_of(shop)
    (record,) = history_of(calendar).orders
    done = {v.stage: v for v in record.stages}
    assert done["sand"].work == 30
    assert not done["sand"].redo
    assert {w.kind for w in record.waits} == {"acceptance", "deposit", "drawing", "mock-up"}
    assert all(w.until is not None for w in record.waits)
    assert record.finished == calendar.now(order.ready_at)


def test_a_stage_done_again_is_two_visits_of_which_the_first_led_to_the_second(shop):
    order = shop.queued()
    shop.approve(order, "mock-up")
    propeller = shop.build(order, until="drill")
    redoing.do_again(
        shop.at_bench, propeller.stages.get(key="balance"), reason="heavy tip", now=shop.later(hours=1)
    )
    (record,) = history_of(calendar_of(shop)).orders
    assert [(v.redo, v.work) for v in record.stages if v.stage == "balance"] == [(True, 30)]
    shop.do(propeller.stages.get(key="balance"))
    (record,) = history_of(calendar_of(shop)).orders
    assert [v.redo for v in record.stages if v.stage == "balance"] == [True, False]


def test_recorded_minutes_move_the_stage_ratios_and_sickness_the_absences(shop):
    shop.ready()
    Absence.objects.create(
        person=shop.wes,
        first_day=shop.today - timedelta(days=20),
        last_day=shop.today - timedelta(days=8),
        foreseen=False,
    )
    calendar = calendar_of(shop)
    known, cold = learnt(calendar, now=shop.now), Calibration()
    sand = next(s for s in history_of(calendar).orders[0].stages if s.stage == "sand")
    toward_recorded = (sand.work / sand.estimate - exp(cold.ratio("sand").log_ratio)) * (
        exp(known.ratio("sand").log_ratio) - exp(cold.ratio("sand").log_ratio)
    )
    assert toward_recorded > 0
    assert known.absence_share > cold.absence_share
    assert known.finished == 0
    assert known.early


def test_a_plan_keeps_what_it_was_made_from_and_the_same_knowledge_all_day(shop):
    shop.queued()
    replan.replan({"reason": "first"})
    plan = PlanVersion.objects.get(current=True)
    assert plan.snapshot["calibration"]["version"] != "cold start"
    assert plan.load[""] > 0
    again = knowledge(Calendar(tables.shop_of(localdate())), now=plan.as_of + timedelta(seconds=5))
    assert again.version == plan.snapshot["calibration"]["version"]


def test_an_absence_entered_since_is_the_cause_of_the_move(shop):
    order = shop.queued()
    replan.replan({"reason": "first"})
    today = localdate()
    Absence.objects.create(person=shop.wes, first_day=today, last_day=today + timedelta(days=60))
    replan.replan({"reason": "Wes away"})
    first, second = ForecastHistory.objects.filter(order=order).order_by("at", "id")
    assert second.likely_by > first.likely_by + timedelta(days=30)
    assert second.causes[0][0] == "absences, closures or hours"
    assert set(first.plan.snapshot) == {"calibration"}
    assert set(second.plan.snapshot) == {"shop", "orders", "calibration", "now"}


def test_a_new_day_makes_a_new_plan_once(shop):
    shop.queued()
    replan.afresh({})
    first = PlanVersion.objects.get(current=True)
    replan.afresh({})
    assert PlanVersion.objects.get(current=True) == first
    PlanVersion.objects.filter(pk=first.pk).update(as_of=first.as_of - timedelta(days=1))
    replan.afresh({})
    assert PlanVersion.objects.get(current=True).reason == "a new day"


def test_a_plan_of_an_earlier_state_does_not_replace_a_later_one(shop):
    shop.queued()
    replan.replan({"reason": "the later state"})
    later = PlanVersion.objects.get(current=True)
    PlanVersion.objects.filter(pk=later.pk).update(as_of=later.as_of + timedelta(hours=1))
    replan.replan({"reason": "a slow worker"})
    assert PlanVersion.objects.get(current=True).reason == "the later state"
