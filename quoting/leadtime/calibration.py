"""What the shop's own record has taught: how work, redoing, absence and waits compare with what was estimated.

Cold-start values are common practice, no source, unless said otherwise; `learn.py` moves them towards the record.
"""

from dataclasses import dataclass
from math import log, sqrt

EARLY_BELOW = 10  # finished orders with a forecast of their own before a range stops being called early
EARLY_DAYS = 365  # and how long the record must be: a year's seasons, closures and sickness


@dataclass(frozen=True, slots=True)
class StageRatio:
    """How long a stage takes against its estimate: mean log ratio, its variance of not knowing, tasks seen."""

    stage: str
    log_ratio: float
    variance: float
    count: int


@dataclass(frozen=True, slots=True)
class WaitLength:
    """A wait on the outside: median in days, standard deviation of the logarithm, waits seen.

    Log-normal unless `curve` says how the waits seen are really spread: (standard normal quantile, log days), rising
    in both; straight between its points and beyond them.
    """

    kind: str
    median_days: float
    spread: float
    count: int = 0
    curve: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class ReworkLoop:
    """A stage that may have to be done again: with probability `again`, after a touch-up, up to `most` times.

    The touch-up takes `touch_share` and the next pass `pass_share` of the stage's own estimate.
    """

    stage: str = "balance"
    touch_stage: str = "sand"
    again: float = 0.35
    touch_share: float = 0.5
    pass_share: float = 0.6
    most: int = 4


ACCEPTANCE = "acceptance"
"""The wait from a quote's sending to its acceptance: before it, nothing else of an order begins."""

USUAL_WAITS = (
    WaitLength(ACCEPTANCE, 4.0, 0.8),
    WaitLength("deposit", 3.0, 0.7),
    WaitLength("drawing", 2.5, 0.7),
    WaitLength("mock-up", 2.5, 0.7),
    WaitLength("timber", 8.0, 0.5),
)


@dataclass(frozen=True, slots=True)
class Calibration:
    """All learnt numbers of one shop. The defaults are a cold start, which says so (`early`).

    `shop_log_ratio` is used for stages not listed; `shop_spread` the standard deviation of the effect that all
    work of one future shares (not knowing the shop, and drift). `task_variance` and `order_variance` are of log
    duration. `absence_share` and `breakdown_share` are shares of days, in spells of mean length. Arrivals are
    orders a calendar day; None: as many as keep the shop at `assumed_load` of what it can do.
    `range_kept` is the share of the sampled range above the median that is said; `widening` then stretches the 80 and
    95 % lead times, never below 1.
    """

    version: str = "cold start"
    stages: tuple[StageRatio, ...] = ()
    shop_log_ratio: float = log(1.25)
    shop_spread: float = sqrt(0.08**2 + 0.22**2)
    task_variance: float = 0.09
    order_variance: float = 0.04
    rework: ReworkLoop = ReworkLoop()
    absence_share: float = 0.02
    absence_spell: float = 3.0
    breakdown_share: float = 0.005
    breakdown_spell: float = 2.0
    waits: tuple[WaitLength, ...] = USUAL_WAITS
    arrivals_a_day: float | None = None
    assumed_load: float = 0.85
    rush_share: float = 0.05
    range_kept: float = 1.0
    widening: float = 1.0
    finished: int = 0
    record_days: float = 0.0

    @property
    def early(self) -> bool:
        """Whether the record is too short, or too few orders have finished, to know how good the dates are."""
        return self.finished < EARLY_BELOW or self.record_days < EARLY_DAYS

    def ratio(self, stage: str) -> StageRatio:
        """The stage's ratio, or the shop's where nothing is known of the stage."""
        for known in self.stages:
            if known.stage == stage:
                return known
        return StageRatio(stage, self.shop_log_ratio, (self.task_variance + self.order_variance) / 8, 0)

    def wait(self, kind: str) -> WaitLength:
        """The usual length of a wait; an unknown kind is taken as a week, widely spread."""
        for known in self.waits:
            if known.kind == kind:
                return known
        return WaitLength(kind, 7.0, 0.8)
