"""What the worker makes of an order: its papers, filed once, and a plan that keeps every order's dates."""

import pytest

from orders import worker
from orders.models import BenchPerson, Document, ForecastHistory, OutboxJob, PlanVersion
from orders.services import drawings, printing, replan
from tests.orders.shop import MORNING


@pytest.mark.timeout(400)
def test_the_worker_prints_every_paper_once_and_plans(shop):
    order = shop.dispatched()
    OutboxJob.objects.update(due_at=MORNING)
    worker.sweep()
    left = OutboxJob.objects.exclude(state="done").exclude(kind__in=worker.ROUNDS)
    assert list(left.values_list("kind", "last_error")) == []
    kinds = set(Document.objects.exclude(kind__in=drawings.VARIANTS).values_list("kind", flat=True))
    assert kinds == {"quote", "invoice", "build-card", "build-record", "care-sheet", "packing-list"}
    paper = Document.objects.get(kind="quote")
    assert paper.file.read(5) == b"%PDF-"
    printing.make({"kind": "quote", "quote": order.quote_id})
    assert Document.objects.filter(kind="quote").count() == 1


@pytest.mark.timeout(400)
def test_a_shop_nobody_can_work_in_keeps_the_last_plan_and_says_why(shop):
    order = shop.queued()
    replan.replan({"reason": "first"})
    plan = PlanVersion.objects.get(current=True)
    assert ForecastHistory.objects.get(order=order).plan == plan
    BenchPerson.objects.update(skills=["carving"])
    replan.replan({"reason": "second"})
    plan.refresh_from_db()
    assert plan.current and "nobody" in plan.problem
