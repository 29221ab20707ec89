"""The balance worksheet: what may stay, where and how much, by the figures of the propeller on the bench."""

import re
from datetime import timedelta

import pytest
from django.utils import timezone

from orders.models import Stage
from quoting.propeller.balance import permissible
from tests.orders.shop import Shop


@pytest.fixture
def stage(shop: Shop) -> Stage:
    """The first balance of a propeller on the bench."""
    propeller = shop.queued().propellers.get()
    return propeller.stages.get(key="balance")


def worked_out(client, stage: Stage, **typed: str):
    return client.get(f"/desk/bench/{stage.pk}/balance/", {"grade": "6.3", **typed})


def said(response) -> str:
    return re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", response.content.decode()))


def test_three_grams_at_thirty_inches_are_met_by_moment_and_by_volume(bench, stage):
    response = worked_out(bench, stage, heavy="1", weight="3", at="30", radius="27", mass="4", rpm="2300")
    page = said(response)
    assert "2 286.0 g·mm" in page.replace("\u202f", " ")  # 3 g x 762 mm
    assert "More than may stay" in page
    # U = G m / Omega, ISO 21940-11: 104.6 g mm for 4 kg at 2300 rev/min
    assert f"{permissible(4, 2300 / 60).by_grade * 1e6:.1f} g·mm" in page
    grams = 3 * 30 / 27
    density = response.context["bench"].density
    assert f"{grams:.2f} g dry add varnish: blade 2" in page
    assert f"{grams:.2f} g, {grams / density * 1000:.2f} cm³ take wood: blade 1" in page


def test_blades_upright_are_corrected_on_the_boss(bench, stage):
    page = said(worked_out(bench, stage, side="right", side_weight="5", side_radius="3"))
    assert "add varnish: boss, left of blade 1" in page
    assert "take wood: boss, right of blade 1" in page


def test_a_small_rest_may_stay(bench, stage):
    page = said(worked_out(bench, stage, heavy="2", weight="0.1", at="30", mass="4", rpm="2300"))
    assert "Within what may stay" in page
    assert "take wood" not in page


def test_a_finer_grade_lets_less_stay(bench, stage):
    page = said(worked_out(bench, stage, heavy="2", weight="0.1", at="30", mass="4", rpm="2300", grade="2.5"))
    assert "More than may stay" in page


def test_three_blades_are_weighed_as_a_vector(shop, bench):
    propeller = shop.queued(blades="3").propellers.get()
    final = propeller.stages.get(key="final-balance")
    typed = {"at": "30", "radius": "30", "heavy_1": "sinks", "weight_1": "2"}
    typed |= {f"heavy_{k}": "rises" for k in (2, 3)} | {f"weight_{k}": "1" for k in (2, 3)}
    page = said(worked_out(bench, final, **typed))
    assert "2.00 g, " in page and "take wood: blade 1" in page
    assert "2.00 g dry add varnish: blade 2" in page and "add varnish: blade 3" in page
    assert "contradict" not in page
    all_sink = typed | {"heavy_2": "sinks", "heavy_3": "sinks", "weight_2": "2", "weight_3": "2"}
    assert "contradict each other" in said(worked_out(bench, final, **all_sink))


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"weight": "3"}, "Say which way it went"),
        ({"heavy": "1"}, "Give the weight that held it"),
        ({"heavy": "1", "weight": "9000"}, "Give a figure from 0 to 500."),
        ({"heavy": "1", "weight": "٣"}, "plain digits"),
        ({"radius": "900"}, "Give a figure from"),
        ({"grade": "7"}, "Select a valid choice"),
    ],
)
def test_what_cannot_be_is_said_at_the_field_and_kept(bench, stage, typed, message):
    response = worked_out(bench, stage, **typed)
    assert response.status_code == 422
    assert message in said(response)
    for value in typed.values():
        assert value in response.content.decode()


def test_the_stage_leads_to_the_sheet_and_takes_its_reading_back(shop, bench, stage):
    propeller = stage.propeller
    shop.build(propeller.order, until="balance")
    # the build ran ahead of today's clock
    propeller.stages.filter(state="done").update(finished_at=timezone.now() - timedelta(days=30))
    stage.refresh_from_db()
    page = bench.get(f"/desk/bench/{stage.pk}/").content.decode()
    assert f"/desk/bench/{stage.pk}/balance/" in page
    sheet = worked_out(bench, stage, heavy="2", weight="0.1", at="30", mass="4", rpm="2300")
    back = re.search(r'href="([^"]+unbalance=[\d.]+)"', sheet.content.decode()).group(1)
    assert back.endswith("unbalance=76.2")
    bench.post(f"/desk/bench/{stage.pk}/start/", {"person": shop.wes.pk})
    assert 'name="unbalance" value="76.2"' in bench.get(back).content.decode()


def test_the_sheet_says_that_it_is_no_approval(bench, stage):
    assert "not an approval" in said(worked_out(bench, stage))
