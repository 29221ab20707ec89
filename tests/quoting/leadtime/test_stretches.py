"""Planned work cut into stretches: nothing outside somebody's hours, and nothing lost."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from quoting.leadtime.calendar import Calendar
from quoting.leadtime.shop import Machine, Person, Shop
from quoting.leadtime.stretches import stretches

MONDAY = date(2026, 9, 14)
WEEK = (((480, 720), (780, 1020)),) * 5 + ((), ())
ADA = Person("ada", "Ada", frozenset({"carving"}), WEEK, away=frozenset({MONDAY + timedelta(days=2)}))
CALENDAR = Calendar(
    Shop(MONDAY, "Europe/Berlin", (ADA,), (), (), (), closed=frozenset({MONDAY + timedelta(days=3)}))
)


def test_work_over_lunch_the_night_an_absence_and_a_closure_is_cut_there() -> None:
    begin = CALENDAR.minute(MONDAY + timedelta(days=1), 600)
    end = CALENDAR.finish(ADA, begin, 600)
    tuesday, friday = MONDAY + timedelta(days=1), MONDAY + timedelta(days=4)
    assert stretches(CALENDAR, ADA, begin, end) == (
        (tuesday, 600, 720),
        (tuesday, 780, 1020),
        (friday, 480, 720),
    )


def test_a_single_machine_that_stands_still_stops_the_work() -> None:
    saw = Machine("saw", "Saw", out_of_use=frozenset({MONDAY}))
    assert stretches(CALENDAR, ADA, 480, 720, saw) == ()
    assert stretches(CALENDAR, ADA, 480, 720, Machine("saw", "Saw", saw.out_of_use, count=2)) == (
        (MONDAY, 480, 720),
    )


@given(st.integers(0, 20 * 1440), st.integers(1, 4000))
def test_the_stretches_hold_exactly_the_work(start: int, work: int) -> None:
    end = CALENDAR.finish(ADA, start, work)
    parts = stretches(CALENDAR, ADA, start, end)
    assert sum(last - first for _, first, last in parts) == work
    assert all(
        any(opens <= first < last <= closes for opens, closes in CALENDAR.shifts(ADA, day))
        for day, first, last in parts
    )
