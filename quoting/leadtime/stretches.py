"""Planned work cut into the stretches in which it is really done: by day, within somebody's hours."""

from datetime import date, timedelta

from quoting.leadtime.calendar import Calendar
from quoting.leadtime.shop import MINUTES_A_DAY, Machine, Person


def stretches(
    calendar: Calendar, person: Person, begin: int, end: int, machine: Machine | None = None
) -> tuple[tuple[date, int, int], ...]:
    """(day, first minute, last minute) of each stretch of work in [begin, end), minutes from that day's midnight.

    Nights, breaks, days off, and days on which the machine stands still are left out.
    """
    found = []
    for number in range(begin // MINUTES_A_DAY, (max(end, begin + 1) - 1) // MINUTES_A_DAY + 1):
        day = calendar.shop.epoch + timedelta(days=number)
        if machine is not None and machine.count == 1 and day in machine.out_of_use:
            continue
        midnight = number * MINUTES_A_DAY
        for opens, closes in calendar.shifts(person, day):
            first, last = max(begin - midnight, opens), min(end - midnight, closes)
            if first < last:
                found.append((day, first, last))
    return tuple(found)
