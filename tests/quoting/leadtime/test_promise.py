"""The dates an estimate shows come from probe orders, in order, on working days, and without the simulator."""

import subprocess
import sys
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.leadtime.calibration import ACCEPTANCE, USUAL_WAITS, Calibration
from quoting.leadtime.forecast import forecast
from quoting.leadtime.load import load
from quoting.leadtime.outlook import Outlook, Probe
from quoting.leadtime.probes import PROBE_KEY, exact, newcomer, outlook, promise_minutes
from quoting.leadtime.promise import forecast_for
from tests.kit.small_shop import NOW, ROUTE, queue, shop

MONDAY = date(2026, 1, 5)
DAYS = tuple(d for i in range(400) if (d := MONDAY + timedelta(days=i)).weekday() < 5)


def plain_outlook():
    def probe(klass, work, timber):
        first = MONDAY + timedelta(days=(30 if klass else 10) + work // 100 + 7 * timber)
        return Probe(klass, work, first, first + timedelta(days=5), first + timedelta(days=9), 20, 4, timber)

    probes = tuple(probe(k, w, t) for k in (0, 1) for w in (500, 1000, 2000) for t in (False, True))
    return Outlook("v1", datetime(2026, 1, 5, 8, tzinfo=UTC), 7, False, False, DAYS, probes)


@given(st.integers(0, 6_000), st.integers(0, 2_000), st.booleans(), st.booleans())
def test_dates_are_in_order_on_working_days_and_later_for_more_work(minutes, more, rush, timber):
    waits = ("deposit", "timber") if timber else ("deposit",)
    small = forecast_for(plain_outlook(), minutes, waits_on=waits, rush=rush)
    large = forecast_for(plain_outlook(), minutes + more, waits_on=waits, rush=rush)
    assert small.likely_by <= small.plan_on <= small.nineteen_in_twenty
    assert {small.likely_by, small.plan_on, small.nineteen_in_twenty} <= set(DAYS)
    assert small.plan_on <= large.plan_on


def test_a_rush_is_earlier_and_timber_later():
    look = plain_outlook()
    assert forecast_for(look, 1000, rush=True).plan_on < forecast_for(look, 1000).plan_on
    assert forecast_for(look, 1000, waits_on=("timber",)).plan_on > forecast_for(look, 1000).plan_on


def test_what_the_clock_waits_on_is_said_in_words():
    assert forecast_for(plain_outlook(), 800, waits_on=("deposit",)).waits_on == ("your deposit",)


def test_without_probes_there_is_no_date():
    with pytest.raises(ValueError, match="make a plan first"):
        forecast_for(replace(plain_outlook(), probes=()), 800)


def test_a_looked_up_date_is_the_simulated_one_for_the_same_work():
    orders, calibration = queue(12), Calibration()
    look = outlook(shop(), orders, calibration, now_minute=NOW, typical=ROUTE, futures=300)
    fresh = newcomer(ROUTE, 1, False, NOW, calibration)
    done = forecast(shop(), (*orders, fresh), calibration, now_minute=NOW, futures=300, typical=ROUTE)
    p80 = promise_minutes(done.of(PROBE_KEY), NOW, calibration)[1]
    looked_up = forecast_for(look, sum(t.work for t in ROUTE))
    assert looked_up.plan_on >= MONDAY + timedelta(days=p80 // 1440)
    assert (looked_up.plan_on - (MONDAY + timedelta(days=p80 // 1440))).days <= 6
    assert looked_up.early
    assert looked_up.ahead == 12


@pytest.mark.parametrize("count", [2, 5, 10, 20])
def test_a_looked_up_date_for_several_is_near_their_own_simulation(count):
    look = outlook(shop(), queue(6), Calibration(), now_minute=NOW, typical=ROUTE, futures=300)
    own = exact(
        shop(), queue(6), Calibration(), ROUTE, now_minute=NOW, typical=ROUTE, count=count, futures=300
    )
    told = forecast_for(look, sum(t.work for t in ROUTE), count=count)
    for said, simulated in (
        (told.likely_by, own.likely_by),
        (told.plan_on, own.plan_on),
        (told.nineteen_in_twenty, own.nineteen_in_twenty),
    ):
        lead = (simulated - own.as_of.date()).days
        assert -2 <= (said - simulated).days <= max(7, 0.15 * lead)


def test_an_outlook_without_several_takes_them_as_one_of_all_their_work():
    assert forecast_for(plain_outlook(), 500, count=3) == forecast_for(plain_outlook(), 1500)


def test_the_dates_count_from_the_usual_day_of_acceptance():
    slow = Calibration(
        waits=tuple(replace(w, median_days=14.0) if w.kind == ACCEPTANCE else w for w in USUAL_WAITS)
    )
    usual, later = (
        exact(shop(), queue(3), c, ROUTE, now_minute=NOW, typical=ROUTE, futures=300)
        for c in (Calibration(), slow)
    )
    assert 7 <= (later.likely_by - usual.likely_by).days <= 13
    assert later.customer_days == usual.customer_days + 10
    assert later.counts_on == later.as_of.date() + timedelta(days=later.customer_days)


def test_widening_stretches_the_safe_dates_and_leaves_the_likely_one():
    done = forecast(shop(), queue(5), Calibration(), now_minute=NOW, futures=99).of(5)
    plain, wide = (promise_minutes(done, NOW, Calibration(widening=w)) for w in (0.7, 1.5))
    assert wide[0] == plain[0]
    assert wide[1] - NOW == pytest.approx(1.5 * (plain[1] - NOW), abs=1)


def test_a_shop_with_more_arriving_than_it_can_do_raises_the_alarm():
    assert load(shop(), ROUTE, Calibration(arrivals_a_day=5.0)) > 1
    assert load(shop(), ROUTE, Calibration()) == pytest.approx(0.85)


def test_the_live_answer_loads_neither_the_simulator_nor_the_compiler():
    code = "import sys, quoting.leadtime.promise; print([m for m in ('numba', 'numpy', 'scipy') if m in sys.modules])"
    assert subprocess.check_output([sys.executable, "-c", code], text=True).strip() == "[]"
