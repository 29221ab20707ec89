"""How well dates were kept: counted once their day has come, with an interval that agrees with scipy's."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from orders.kept_picture import kept_svg
from orders.services.kept import Said, by_year, kept_of, said_so_far, wilson
from tests.orders.shop import Shop

TODAY = date(2026, 9, 14)


def quote(said: int, ready: int | None, sent: int = 100) -> Said:
    """A quote sent and said so many days ago, `said` the middle one of three days ten days apart."""
    day = TODAY - timedelta(days=said)
    days = (day - timedelta(days=10), day, day + timedelta(days=10))
    return Said(TODAY - timedelta(days=sent), days, None if ready is None else TODAY - timedelta(days=ready))


@given(st.integers(1, 300), st.data())
def test_the_interval_is_scipys_score_interval(count: int, data: st.DataObject) -> None:
    kept = data.draw(st.integers(0, count))
    theirs = binomtest(kept, count).proportion_ci(0.95, method="wilson")
    assert wilson(kept, count) == pytest.approx((theirs.low, theirs.high), abs=1e-9)


def test_a_quote_counts_once_its_day_has_come_ready_or_not() -> None:
    record = kept_of([quote(20, 25), quote(20, 15), quote(20, None), quote(-5, 3), quote(-5, None)], TODAY)
    at_80 = record[1]
    assert (at_80.count, at_80.kept) == (
        3,
        1,
    )  # ready early, ready late, not ready; the two to come do not count
    assert record[2].kept == 2  # ten days later two of the three were ready


def test_a_record_that_speaks_against_what_was_said_is_told() -> None:
    bad = kept_of([quote(20, 10)] * 30, TODAY)[1]
    good = kept_of([quote(20, 25)] * 4 + [quote(20, 10)], TODAY)[1]
    cautious = kept_of([quote(20, 25)] * 60, TODAY)[1]
    assert (bad.verdict, good.verdict, cautious.verdict) == ("too early", "", "too late")
    assert kept_of([], TODAY)[1].verdict == ""


def test_the_record_is_shown_by_year() -> None:
    rows = [quote(20, 25), quote(400, 405, sent=500)]
    counts = {name: record[1].count for name, record in by_year(rows, TODAY)}
    assert counts == {"all": 2, "sent in the last year": 1, "sent before": 1}


def test_the_picture_tells_in_words_what_it_draws() -> None:
    drawn = kept_svg(kept_of([quote(20, 25)] * 9 + [quote(20, 10)], TODAY))
    assert "of 10 that said 80 %, 9 were kept" in drawn
    assert drawn.count("<circle") == 3


def test_quotes_are_read_from_the_orders_they_became(either: Shop) -> None:
    order = either.order()
    (said,) = said_so_far()
    assert said.days[1] == order.promise
    assert said.ready is None
