"""The live answer's view of the queue: probe orders simulated once per plan version and looked up without simulation.

Plain Python: the web process loads this file and never the simulation.
"""

from dataclasses import dataclass
from datetime import date, datetime, timedelta


@dataclass(frozen=True, slots=True)
class Probe:
    """Completion of one probe order: its work in minutes and the working-day dates at 50, 80 and 95 %.

    `klass` 0 is rush, 1 ordinary. Dates are the end of a working day, waits on the customer included
    as usual lengths; `shop_days` is the median number of calendar days that are the shop's own.
    `timber` marks the probe that also waits on timber. `count` propellers of that work each were asked for together
    and the dates are the last one's.
    """

    klass: int
    work: int
    p50: date
    p80: date
    p95: date
    shop_days: int
    customer_days: int
    timber: bool = False
    count: int = 1


@dataclass(frozen=True, slots=True)
class Outlook:
    """What the last plan version says to newcomers. `early` marks a cold start: few finished orders yet."""

    version: str
    as_of: datetime
    ahead: int
    early: bool
    overloaded: bool
    working_days: tuple[date, ...]
    probes: tuple[Probe, ...]


@dataclass(frozen=True, slots=True)
class Forecast:
    """Likely by (50 %), plan on (80 %), 19 in 20 by (95 %), and in words what the clock waits on.

    `exact`: this very order was simulated in the queue of `as_of`; else the dates are looked up among probe orders.
    """

    likely_by: date
    plan_on: date
    nineteen_in_twenty: date
    ahead: int
    waits_on: tuple[str, ...]
    customer_days: int
    shop_days: int
    early: bool
    overloaded: bool
    as_of: datetime
    plan_version: str
    exact: bool = False

    @property
    def counts_on(self) -> date:
        """The day by which the dates take acceptance, deposit and approval of the drawing to be through."""
        return self.as_of.date() + timedelta(days=self.customer_days)
