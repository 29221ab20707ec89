"""Working minutes and dates of the shop, to the minute."""

from datetime import UTC, date, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.leadtime.calendar import Calendar, ShopProblem, round_up
from quoting.leadtime.calibration import Calibration
from quoting.leadtime.hours import finish, next_place, timetable
from quoting.leadtime.layout import closed_days, lay_out, machine_units
from quoting.leadtime.shop import Machine
from tests.kit.small_shop import HALF_WEEK, person, shop

MONDAY = date(2026, 1, 5)
ADA = person("ada", "carving")
CALENDAR = Calendar(shop(persons=(ADA,), closed=frozenset()))


def at(day: int, hour: int, minute: int = 0) -> int:
    return day * 1440 + hour * 60 + minute


@pytest.mark.parametrize(
    ("start", "work", "expected"),
    [
        (at(4, 15), 600, at(7, 17)),
        (at(0, 8), 240, at(0, 12)),
        (at(0, 8), 241, at(0, 13, 1)),
        (at(5, 10), 1, at(7, 8, 1)),
    ],
)
def test_work_ends_on_the_working_minute_it_should(start, work, expected):
    assert CALENDAR.finish(ADA, start, work) == expected


def test_an_absent_monday_moves_the_end_to_tuesday():
    monday = frozenset({date(2026, 1, 12)})
    assert CALENDAR.finish(ADA, at(4, 15), 600, monday) == at(8, 17)


def test_work_on_a_machine_pauses_while_the_machine_is_out_of_use():
    lathe = Machine("lathe", "Lathe", frozenset({date(2026, 1, 6)}))
    assert CALENDAR.finish(ADA, at(0, 16), 120, machine=lathe) == at(2, 9)


def test_a_person_without_hours_is_named():
    idle = person("idle", week=((),) * 7)
    with pytest.raises(ShopProblem, match="Idle has no working hours"):
        CALENDAR.finish(idle, 0, 1)


@given(st.integers(0, 20_000), st.integers(1, 3_000), st.integers(1, 3_000), st.sampled_from(range(4)))
def test_finishing_in_two_parts_ends_as_finishing_in_one(start, first, second, who):
    calendar = Calendar(shop())
    p = calendar.shop.persons[who]
    assert calendar.finish(p, calendar.finish(p, start, first), second) == calendar.finish(
        p, start, first + second
    )


@given(st.integers(0, 20_000), st.integers(0, 2_000), st.integers(1, 3_000), st.integers(0, 500))
def test_later_starts_and_more_work_never_end_earlier(start, later, work, more):
    p = CALENDAR.shop.persons[0]
    assert CALENDAR.finish(p, start, work) <= CALENDAR.finish(p, start + later, work + more)


@given(st.integers(0, 20_000), st.integers(1, 3_000))
def test_minutes_worked_until_the_end_are_the_work(start, work):
    p = person("dov", "finishing", week=HALF_WEEK)
    assert CALENDAR.working_minutes(p, start, CALENDAR.finish(p, start, work)) == work


def test_the_compiled_calendar_agrees_with_the_plain_one():
    workshop = shop()
    calendar, problem = Calendar(workshop), lay_out(workshop, (), Calibration(), 0)
    lay, out = problem.layout, closed_days(workshop, problem, 60)
    table = timetable(lay.shifts, lay.shift_count, 60)
    rng = np.random.default_rng(4)
    for _ in range(500):
        who, machine = int(rng.integers(4)), int(rng.integers(-1, 5))
        start, work = int(rng.integers(20_000)), int(rng.integers(1, 3_000))
        p = next(p for p in workshop.persons if p.key == problem.persons[who])
        expected = calendar.finish(
            p, start, work, machine=machine_units(workshop)[machine] if machine >= 0 else None
        )
        place = next_place(table, out, who, 0, start)
        assert finish(table, out, who, machine, place, start, work) == expected


def test_minutes_are_wall_clock_minutes_on_both_sides_of_a_clock_change():
    calendar = Calendar(shop())
    before, after = datetime(2026, 3, 27, 8, tzinfo=UTC), datetime(2026, 3, 30, 7, tzinfo=UTC)
    assert [calendar.now(t) % 1440 for t in (before, after)] == [480, 480]
    assert [calendar.instant(calendar.now(t)) for t in (before, after)] == [before, after]


def test_a_near_date_rounds_up_to_a_working_day_and_a_far_one_to_the_end_of_its_week():
    days = CALENDAR.working_days(MONDAY, 200)
    assert round_up(date(2026, 1, 10), MONDAY, days) == date(2026, 1, 12)
    assert round_up(date(2026, 4, 7), MONDAY, days) == date(2026, 4, 10)
