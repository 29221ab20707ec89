"""Replays a shop's history and scores the dates that would have been given, method by method."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from math import ceil, sqrt

import numpy as np

from quoting.leadtime.calibration import Calibration
from quoting.leadtime.forecast import forecast
from quoting.leadtime.history import History, OrderRecord, queue_at, typical_route
from quoting.leadtime.learn import QUOTES_KEPT, learn
from quoting.leadtime.probes import promise_minutes, unwidened_minutes
from quoting.leadtime.queue import QueuedOrder
from quoting.leadtime.shop import MINUTES_A_DAY, Shop

SHARES = (0.5, 0.8, 0.95)
SIMULATION, REGRESSION = QUEUE_METHODS = ("simulation", "queue_regression")
RELEARN_DAYS = 7
SKIPPED_DAYS = 60  # of a record: by then a queue stands
KEPT_RESIDUALS = 80
FEWEST_FOR_REGRESSION = 20
FIRST_YEAR_DAYS = 365
BLOCK_DAYS = 60  # quotes given within two months share their queue and count as one cluster


@dataclass(frozen=True, slots=True)
class Scored:
    """One quote: days it was given after the start, the lead time said at 50, 80 and 95 %, and the true one.

    Days. `lead` is the least it can be where the order is not done when the record ends (`done` False).
    """

    given: float
    said: tuple[float, float, float]
    lead: float
    done: bool
    early: bool


@dataclass(frozen=True, slots=True)
class Score:
    """How good the dates of one method were: shares kept, their clustered errors, pinball loss and width in days."""

    coverage: tuple[float, float, float]
    error: tuple[float, float, float]
    pinball: float
    width: float
    quotes: int


@dataclass
class _Replay:
    """What the replay knows as it goes: quotes given and the calibration of the week."""

    quotes: dict[int, OrderRecord] = field(default_factory=dict)
    calibration: Calibration | None = None
    learnt_at: int = -(10**9)


def backtest(
    shop: Shop,
    history: History,
    *,
    skip_days: int = SKIPPED_DAYS,
    futures: int = 200,
    seed: int = 0,
    prior: Calibration | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> dict[str, tuple[Scored, ...]]:
    """Quotes of both methods for every ordinary order that arrived after `skip_days`, in turn of arrival.

    Each is given what was recorded by then and nothing later. Raises ShopProblem if the shop cannot be simulated.
    """
    asked = [
        o for o in history.orders if o.klass == 1 and o.arrived >= history.since + skip_days * MINUTES_A_DAY
    ]
    last = _end_of_record(history)
    replayed = _Replay()
    ahead_of = {o.key: _work_ahead(history, o, o.arrived) for o in history.orders}
    simulated, regressed = [], []
    for number, order in enumerate(asked):
        if progress:
            progress(number, len(asked))
        said, early = _simulated(shop, history, order, replayed, futures, seed, prior or Calibration())
        simulated.append(_scored(history, order, said, early, last))
        regressed.append(_scored(history, order, _regressed(history, order, ahead_of), early, last))
    return {SIMULATION: tuple(simulated), REGRESSION: tuple(regressed)}


def replayed(
    shop: Shop,
    history: History,
    minute: int,
    *,
    last: int = QUOTES_KEPT,
    futures: int = 100,
    seed: int = 0,
) -> tuple[OrderRecord, ...]:
    """The last ordinary orders with the dates, before widening, that today's way of reckoning would have given them.

    Each is given what was recorded when it arrived and nothing later, so that a shop's record tells how far these
    dates can be trusted even where its quotes were dated otherwise. Orders of the first SKIPPED_DAYS are left out.
    Raises ShopProblem if the shop cannot be simulated.
    """
    since = history.since + SKIPPED_DAYS * MINUTES_A_DAY
    asked = [o for o in history.orders if o.klass == 1 and since <= o.arrived <= minute][-last:]
    replay = _Replay()
    for order in asked:
        _simulated(shop, history, order, replay, futures, seed, Calibration())
    return tuple(replay.quotes[o.key] for o in asked)


def score(quotes: Sequence[Scored]) -> Score:
    """Score quotes: those not done count as missed where the record outlasts the date, else they are left out."""
    coverage, error = [], []
    for i in range(3):
        judged = [(q.given, q.lead <= q.said[i]) for q in quotes if q.done or q.lead > q.said[i]]
        coverage.append(float(np.mean([kept for _, kept in judged])) if judged else float("nan"))
        error.append(clustered_error(judged))
    done = [q for q in quotes if q.done]
    pinball = [
        sum(pinball_loss(q.lead, said, s) for said, s in zip(q.said, SHARES, strict=True)) for q in done
    ]
    return Score(
        coverage=(coverage[0], coverage[1], coverage[2]),
        error=(error[0], error[1], error[2]),
        pinball=float(np.mean(pinball)) if pinball else float("nan"),
        width=float(np.mean([q.said[2] - q.said[0] for q in quotes])) if quotes else float("nan"),
        quotes=len(quotes),
    )


def pinball_loss(true: float, said: float, share: float) -> float:
    """max(q (y - x), (q - 1)(y - x)): proper for the q-quantile (Gneiting & Raftery, JASA 102 (2007) 359)."""
    return max(share * (true - said), (share - 1) * (true - said))


def clustered_error(judged: Sequence[tuple[float, bool]]) -> float:
    """Standard error of the share kept when quotes of the same two months go together."""
    if len(judged) < 2:
        return float("nan")
    mean = float(np.mean([kept for _, kept in judged]))
    sums: dict[int, float] = {}
    for given, kept in judged:
        block = int(given // BLOCK_DAYS)
        sums[block] = sums.get(block, 0.0) + kept - mean
    blocks = len(sums)
    return sqrt(sum(v * v for v in sums.values()) * blocks / max(blocks - 1, 1)) / len(judged)


def first_year(quotes: Sequence[Scored]) -> list[Scored]:
    """The quotes given within a year of the start of the record."""
    return [q for q in quotes if q.given < FIRST_YEAR_DAYS]


def as_json(methods: dict[str, Score]) -> dict[str, dict[str, object]]:
    """The scores as plain values for `--json`; under "errors" the clustered standard errors of the shares kept."""
    names = ("p50", "p80", "p95")
    return {
        "methods": {
            name: {
                "coverage": dict(zip(names, s.coverage, strict=True)),
                "pinball": s.pinball,
                "width": s.width,
                "quotes": s.quotes,
            }
            for name, s in methods.items()
        },
        "errors": {name: dict(zip(names, s.error, strict=True)) for name, s in methods.items()},
    }


def _end_of_record(history: History) -> int:
    ends = [o.finished for o in history.orders if o.finished is not None]
    return max([*ends, *(o.arrived for o in history.orders)], default=history.since)


def _scored(
    history: History, order: OrderRecord, said: tuple[float, float, float], early: bool, last: int
) -> Scored:
    lead = ((order.finished if order.finished is not None else last) - order.arrived) / MINUTES_A_DAY
    given = (order.arrived - history.since) / MINUTES_A_DAY
    return Scored(given, said, lead, order.finished is not None, early)


def _simulated(
    shop: Shop,
    history: History,
    order: OrderRecord,
    replay: _Replay,
    futures: int,
    seed: int,
    prior: Calibration,
) -> tuple[tuple[float, float, float], bool]:
    """(days said at 50, 80 and 95 %, whether early)."""
    now = order.arrived
    if replay.calibration is None or now - replay.learnt_at > RELEARN_DAYS * MINUTES_A_DAY:
        quotes = sorted(replay.quotes.values(), key=lambda o: o.arrived)
        replay.calibration = learn(shop, history, now, prior=prior, quotes=quotes)
        replay.learnt_at = now
    calibration = replay.calibration
    loop = calibration.rework
    orders = queue_at(
        history, now, touch_stage=loop.touch_stage, touch=loop.touch_share, again=loop.pass_share
    )
    recent = [o for o in history.orders if o.arrived <= now][-60:]
    done = forecast(
        shop,
        [_newcomer(o) if o.key == order.key else o for o in orders],
        calibration,
        now_minute=now,
        futures=futures,
        seed=seed,
        typical=typical_route(recent, order.route),
        until_done=frozenset({order.key}),
        out_now=frozenset(
            who for who, day in history.absences | history.breakdowns if day == now // MINUTES_A_DAY
        ),
    ).of(order.key)
    replay.quotes[order.key] = replace(order, quoted=unwidened_minutes(done, calibration))
    p50, p80, p95 = promise_minutes(done, now, calibration)
    days = (p50 - now) / MINUTES_A_DAY, (p80 - now) / MINUTES_A_DAY, (p95 - now) / MINUTES_A_DAY
    return days, calibration.early


def _newcomer(order: QueuedOrder) -> QueuedOrder:
    """A newcomer's promise is not made yet: it stands behind all that are."""
    return replace(order, due=None)


def _regressed(
    history: History, order: OrderRecord, ahead_of: dict[int, float]
) -> tuple[float, float, float]:
    """Lead time on work ahead, by least squares on orders done by then, with quantiles of the last residuals.

    Work in queue as in Ragatz & Mabert, Decision Sciences 15 (1984); without enough orders, a multiple of the work.
    """
    now = order.arrived
    done = [o for o in history.orders if o.klass == 1 and o.finished is not None and o.finished <= now]
    ahead, own = ahead_of[order.key], sum(t.work for t in order.route)
    if len(done) < FEWEST_FOR_REGRESSION:
        guess = 10 + ahead / (3 * 480) * 7 / 5
        return guess, 1.3 * guess, 1.6 * guess
    rows = np.array([[1.0, ahead_of[o.key], sum(t.work for t in o.route)] for o in done])
    leads = np.array([((o.finished or 0) - o.arrived) / MINUTES_A_DAY for o in done])
    weights, *_ = np.linalg.lstsq(rows, leads, rcond=None)
    residuals = np.sort((leads - rows @ weights)[-KEPT_RESIDUALS:])
    centre = float(np.array([1.0, ahead, own]) @ weights)
    p50, p80, p95 = (max(1.0, centre + float(residuals[_place(len(residuals), share)])) for share in SHARES)
    return p50, p80, p95


def _place(count: int, share: float) -> int:
    return min(max(ceil(share * (count + 1)), 1), count) - 1


def _work_ahead(history: History, order: OrderRecord, now: int) -> float:
    """Estimated minutes of work left in all other orders at the minute. History is in turn of arrival."""
    total = 0.0
    for other in history.orders:
        if other.arrived > now:
            break
        if other.key != order.key and (other.finished is None or other.finished > now):
            ended = {r.task for r in other.stages if r.end is not None and r.end <= now}
            total += sum(t.work for j, t in enumerate(other.route) if j not in ended)
    return total
