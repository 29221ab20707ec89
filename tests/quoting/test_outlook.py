"""The outlook a live answer reads: the newest plan's, else a cautious one that claims nothing it does not know."""

from datetime import UTC, date, datetime, timedelta

import pytest

from quoting.leadtime.outlook import Outlook, Probe
from quoting.leadtime.promise import forecast_for
from quoting.models import PlanOutlook
from quoting.services.outlook import COLD_START, cold_start, latest_outlook, outlook_on, store_outlook

NOW = datetime(2026, 9, 14, 7, 30, tzinfo=UTC)
TODAY = NOW.date()


def outlook(version: str, as_of: datetime = NOW, probes: bool = True) -> Outlook:
    days = tuple(TODAY + timedelta(days=n) for n in range(60))
    probe = Probe(1, 600, *(TODAY + timedelta(days=d) for d in (20, 30, 40)), 13, 7)
    return Outlook(version, as_of, 3, False, False, days, (probe,) if probes else ())


@pytest.mark.django_db
def test_a_stored_outlook_reads_back_equal():
    store_outlook(outlook("v1"))
    assert latest_outlook(NOW) == outlook("v1")


@pytest.mark.django_db
def test_the_newest_outlook_is_read():
    store_outlook(outlook("late", NOW + timedelta(hours=1)))
    store_outlook(outlook("early", NOW))
    assert latest_outlook(NOW).version == "late"


@pytest.mark.django_db
def test_the_same_plan_is_stored_once():
    store_outlook(outlook("v1"))
    store_outlook(outlook("v1", NOW + timedelta(days=1)))
    assert PlanOutlook.objects.get().as_of == NOW


@pytest.mark.django_db
def test_a_shop_without_a_plan_gets_the_cautious_outlook():
    assert latest_outlook(NOW).version == COLD_START
    store_outlook(outlook("empty", probes=False))
    assert latest_outlook(NOW).version == COLD_START


def test_the_cautious_outlook_says_that_it_knows_little():
    forecast = forecast_for(cold_start(NOW), 1100)
    assert forecast.early
    assert TODAY + timedelta(days=20) < forecast.likely_by < forecast.plan_on < forecast.nineteen_in_twenty
    assert all(
        day.weekday() < 5 for day in (forecast.likely_by, forecast.plan_on, forecast.nineteen_in_twenty)
    )


@pytest.mark.parametrize("rush", [False, True])
def test_more_work_is_never_promised_earlier_from_a_cold_start(rush):
    start = cold_start(NOW)
    dates = [forecast_for(start, minutes, rush=rush).plan_on for minutes in range(60, 20_000, 300)]
    assert dates == sorted(dates)


def test_rush_is_never_later_than_ordinary_from_a_cold_start():
    start = cold_start(NOW)
    for minutes in range(60, 8_000, 300):
        assert forecast_for(start, minutes, rush=True).plan_on <= forecast_for(start, minutes).plan_on


def test_a_quote_of_an_earlier_day_is_dated_from_that_day(db: None) -> None:
    long_ago = date(2025, 3, 4)
    found = outlook_on(long_ago)
    assert found.as_of.date() == long_ago
    assert all(long_ago < probe.p50 < date(2025, 9, 1) for probe in found.probes)
