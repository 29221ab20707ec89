"""`manage.py forecast` and `manage.py plan`: tables and JSON from a real queue, replays, and plain refusals."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from orders.models import BenchPerson, PlanVersion

pytestmark = pytest.mark.timeout(400)


def said(*arguments: str) -> str:
    out = StringIO()
    call_command(*arguments, stdout=out)
    return out.getvalue()


def test_a_forecast_lists_every_propeller_with_its_dates_in_order(shop):
    order = shop.queued()
    (row,) = json.loads(said("forecast", "--json", "--futures", "60"))["orders"]
    assert row["name"] == f"{order.number}/1"
    assert row["p50"] <= row["p80"] <= row["p95"]
    assert row["promise"] == order.promise.isoformat()
    assert 0 <= row["late"] <= 1
    table = said("forecast", "--futures", "60")
    assert order.number in table
    assert "Early" in table


def test_the_shops_own_past_is_replayed_and_scored(shop):
    shop.ready()
    scores = json.loads(said("forecast", "--backtest", "--json", "--futures", "20"))
    assert scores["methods"]["simulation"]["quotes"] == 1
    assert set(scores["methods"]) == {"simulation", "queue_regression"}


def test_made_up_shops_are_scored_in_the_agreed_shape(shop):
    out = said(
        "forecast",
        "--backtest",
        "--json",
        "--synthetic",
        "1",
        "--seed",
        "7",
        "--years",
        "1",
        "--futures",
        "20",
    )
    scores = json.loads(out)
    for method in scores["methods"].values():
        assert set(method) == {"coverage", "pinball", "width", "quotes"}
        assert set(method["coverage"]) == {"p50", "p80", "p95"}
        assert method["quotes"] > 50
    assert scores["errors"]["simulation"]["p80"] > 0


def test_a_plan_is_printed_and_kept_when_asked(shop):
    order = shop.queued()
    found = json.loads(said("plan", "--seconds", "0.2", "--json"))
    assert found["completions"][0][0] == order.propellers.get().pk
    assert not PlanVersion.objects.exists()
    table = said("plan", "--seconds", "0.2", "--keep")
    assert "Wes" in table
    assert PlanVersion.objects.get(current=True).plan["ranks"] == found["ranks"]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("forecast", "--synthetic", "2"), "goes with --backtest"),
        (("forecast", "--futures", "3"), "--futures is from 20"),
        (("plan", "--seconds", "0"), "--seconds is from"),
        (("plan",), "queue is empty"),
        (("forecast", "--backtest"), "nothing to replay"),
    ],
)
def test_what_cannot_be_done_is_said_plainly(shop, arguments, message):
    with pytest.raises(CommandError, match=message):
        said(*arguments)


def test_a_shop_nobody_can_work_in_is_named(shop):
    shop.queued()
    BenchPerson.objects.update(skills=["carving"])
    with pytest.raises(CommandError, match="nobody can do"):
        said("forecast")
