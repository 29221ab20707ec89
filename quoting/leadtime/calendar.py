"""Working minutes and dates of the shop: when work that starts now is finished, and which day a minute lies on."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from quoting.leadtime.shop import MINUTES_A_DAY, Machine, Person, Shop

SEARCH_DAYS = 3660  # ten years: further than any date that could be meant
WEEKS_BEYOND_DAYS = 56  # past eight weeks a single day would pretend to more than is known


class ShopProblem(ValueError):
    """The shop or its queue cannot be simulated; the message names the cause in plain words."""


@dataclass(frozen=True, slots=True)
class Calendar:
    """The working time of one shop. Minutes are local wall-clock minutes from midnight of the shop's epoch."""

    shop: Shop

    def day(self, minute: int) -> date:
        """The date on which the minute lies."""
        return self.shop.epoch + timedelta(days=minute // MINUTES_A_DAY)

    def minute(self, day: date, at: int = 0) -> int:
        """The minute `at` minutes after midnight of the day."""
        return (day - self.shop.epoch).days * MINUTES_A_DAY + at

    def now(self, instant: datetime) -> int:
        """The shop's minute of an aware instant, by the shop's own clock."""
        local = instant.astimezone(ZoneInfo(self.shop.timezone))
        return self.minute(local.date(), local.hour * 60 + local.minute)

    def instant(self, minute: int) -> datetime:
        """The aware UTC instant of a shop minute; the earlier one where the clock shows it twice."""
        naive = datetime.combine(self.day(minute), datetime.min.time()) + timedelta(
            minutes=minute % MINUTES_A_DAY
        )
        return naive.replace(tzinfo=ZoneInfo(self.shop.timezone)).astimezone(UTC)

    def local(self, minute: int) -> datetime:
        """The same instant by the shop's own clock, so that its date is the shop's."""
        return self.instant(minute).astimezone(ZoneInfo(self.shop.timezone))

    def shifts(self, person: Person, day: date) -> tuple[tuple[int, int], ...]:
        """The person's intervals of work on that day, in minutes from its midnight; empty when away or closed."""
        if day in self.shop.closed or day in person.away:
            return ()
        return person.week[day.weekday()]

    def intervals(
        self,
        person: Person,
        start: int,
        absent: frozenset[date] = frozenset(),
        machine: Machine | None = None,
    ) -> Iterator[tuple[int, int]]:
        """The person's intervals from `start` on, the first one cut to it. Ends after ten years."""
        first = start // MINUTES_A_DAY
        out = absent | machine.out_of_use if machine else absent
        for number in range(first, first + SEARCH_DAYS):
            day = self.shop.epoch + timedelta(days=number)
            if day in out:
                continue
            for opens, closes in self.shifts(person, day):
                if number * MINUTES_A_DAY + closes > start:
                    yield max(start, number * MINUTES_A_DAY + opens), number * MINUTES_A_DAY + closes

    def finish(
        self,
        person: Person,
        start: int,
        work: int,
        absent: frozenset[date] = frozenset(),
        machine: Machine | None = None,
    ) -> int:
        """F_p(start, work): the minute at which `work` minutes begun at `start` or later are done.

        Work goes on only while the person is on shift and the machine in use. Raises ShopProblem when ten
        years do not suffice.
        """
        left = work
        if left <= 0:
            return start
        for opens, closes in self.intervals(person, start, absent, machine):
            if left <= closes - opens:
                return opens + left
            left -= closes - opens
        raise ShopProblem(f"{person.name} has no working hours left for {work} minutes of work")

    def working_minutes(self, person: Person, start: int, end: int) -> int:
        """Minutes the person is on shift in [start, end)."""
        total = 0
        for opens, closes in self.intervals(person, start):
            if opens >= end:
                break
            total += min(closes, end) - opens
        return total

    def is_working_day(self, day: date) -> bool:
        """Whether anybody works that day."""
        return any(self.shifts(person, day) for person in self.shop.persons)

    def working_days(self, first: date, count: int) -> tuple[date, ...]:
        """The next `count` days, from `first` on, on which somebody works. Raises ShopProblem if there are none."""
        days: list[date] = []
        for ahead in range(SEARCH_DAYS):
            day = first + timedelta(days=ahead)
            if self.is_working_day(day):
                days.append(day)
                if len(days) == count:
                    return tuple(days)
        if days:
            return tuple(days)
        raise ShopProblem(
            "nobody has working hours in the next ten years: enter hours for at least one person"
        )


def round_up(day: date, today: date, working_days: Sequence[date]) -> date:
    """The first working day not before `day`; beyond eight weeks the last working day of that week.

    A date means the end of that working day. `working_days` is sorted; past its end the day stands as it is.
    """
    chosen = next((d for d in working_days if d >= day), day)
    if (chosen - today).days <= WEEKS_BEYOND_DAYS:
        return chosen
    sunday = chosen + timedelta(days=6 - chosen.weekday())
    return max((d for d in working_days if chosen <= d <= sunday), default=chosen)
