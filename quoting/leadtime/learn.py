"""Learns a calibration from the shop's record: every number shrunk towards what is usual while little is known."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from math import exp, log, sqrt
from statistics import NormalDist

from quoting.leadtime.calibration import EARLY_BELOW, Calibration, StageRatio, WaitLength
from quoting.leadtime.history import History, OrderRecord, StageRecord, mean_route
from quoting.leadtime.load import arrivals_a_day
from quoting.leadtime.shop import MINUTES_A_DAY, Shop

HALF_LIFE_DAYS = 240.0
SHOP_WORTH, STAGE_WORTH, VARIANCE_WORTH = 5.0, 8.0, 30.0  # in tasks, how much the prior counts
ORDER_VARIANCE_WORTH = 10.0
REWORK_WORTH, PERSON_DAYS_WORTH, SPELLS_WORTH, WAITS_WORTH, RUSH_WORTH = 10.0, 200.0, 5.0, 5.0, 20.0
UNKNOWN_SHOP_SPREAD, DRIFT = 0.22, 0.05
UNKNOWN_WORTH = 2.0  # in orders: how soon a record tells how the shop stands to its estimates
LEVEL_HALF_LIFE_DAYS = 45.0
LEVEL_WORTH = 15.0  # in orders: the last weeks' level is forgotten again over the weeks to come
ARRIVAL_DAYS = 365
LATEST = 60  # orders whose routes tell what an ordinary one is
ARRIVAL_WORTH_DAYS = 30.0  # how many days of record the assumed load counts for
QUOTES_KEPT = 80
FEWEST_FOR_CURVE = 20
CURVE_SHARES = (0.03, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.97)
WIDENING_WORTH = 30.0
# found on made-up shops (seeds 1 to 6): sampled ranges were wider than need be
DRAWN_IN, DRAWN_IN_WORTH = 0.12, 20.0
WIDEST, NARROWEST = 2.5, 0.6


def learn(
    shop: Shop,
    history: History,
    minute: int,
    *,
    prior: Calibration | None = None,
    quotes: Sequence[OrderRecord] = (),
) -> Calibration:
    """The calibration known at the minute: records ended by then alone. `quotes` are orders with dates given."""
    prior = prior or Calibration()
    seen = [o for o in history.orders if o.arrived <= minute]
    ended = [(o.key, r) for o in seen for r in o.stages if r.end is not None and r.end <= minute]
    days = max((minute - history.since) / MINUTES_A_DAY, 0.0)
    learnt = _work(prior, ended, minute)
    learnt = _redo(learnt, prior, [r for _, r in ended])
    learnt = _absence(learnt, prior, shop, history, minute, days)
    learnt = replace(learnt, waits=tuple(_wait(w, seen, minute) for w in prior.waits))
    learnt = replace(learnt, arrivals_a_day=_arrivals(learnt, shop, seen, minute, days))
    rush = sum(o.klass == 0 for o in seen)
    learnt = replace(learnt, rush_share=(RUSH_WORTH * prior.rush_share + rush) / (RUSH_WORTH + len(seen)))
    widening, finished = widening_of(quotes, minute)
    kept = 1 - DRAWN_IN * finished / (finished + DRAWN_IN_WORTH)
    version = f"{minute}.{len(ended)}.{finished}"
    return replace(
        learnt, widening=widening, range_kept=kept, finished=finished, record_days=days, version=version
    )


def _work(prior: Calibration, ended: Sequence[tuple[int, StageRecord]], minute: int) -> Calibration:
    """Stage ratios, and how far tasks and whole orders scatter about them."""
    rows = [
        (
            key,
            r.stage,
            log(max(r.work, 1) / r.estimate),
            0.5 ** ((minute - r.end) / MINUTES_A_DAY / HALF_LIFE_DAYS),
        )
        for key, r in ended
        if r.work is not None and r.end is not None and r.estimate > 0
    ]
    total = sum(w for *_, w in rows)
    mean = (sum(w * y for *_, y, w in rows) + SHOP_WORTH * prior.shop_log_ratio) / (total + SHOP_WORTH)
    stages: dict[str, tuple[float, float, int]] = {}
    for _, stage, y, w in rows:
        sum_y, sum_w, count = stages.get(stage, (0.0, 0.0, 0))
        stages[stage] = (sum_y + w * y, sum_w + w, count + 1)
    ratio = {s: (sy + STAGE_WORTH * mean) / (sw + STAGE_WORTH) for s, (sy, sw, _) in stages.items()}
    by_order: dict[int, list[float]] = {}
    for key, stage, y, _ in rows:
        by_order.setdefault(key, []).append(y - ratio[stage])
    task_variance, order_variance = _scatter(by_order.values(), prior)
    both = task_variance + order_variance
    level = _level(rows, ratio)
    ratio = {s: value + level for s, value in ratio.items()}
    orders = sum({key: w for key, _, _, w in rows}.values())
    unknown = UNKNOWN_SHOP_SPREAD * sqrt(UNKNOWN_WORTH / (UNKNOWN_WORTH + orders))
    return replace(
        prior,
        shop_log_ratio=mean + level,
        shop_spread=sqrt(DRIFT**2 + unknown**2),
        task_variance=task_variance,
        order_variance=order_variance,
        stages=tuple(
            StageRatio(s, ratio[s], both / (stages[s][1] + STAGE_WORTH), stages[s][2]) for s in sorted(stages)
        ),
    )


def _level(rows: Sequence[tuple[int, str, float, float]], ratio: Mapping[str, float]) -> float:
    """How much slower than its long-run ratios the shop has been in the last weeks, as a logarithm.

    Each order's mean deviation counts once, weighted by its age: the tasks of one order stray together.
    """
    by_order: dict[int, list[tuple[float, float]]] = {}
    for key, stage, y, w in rows:
        # w halves in HALF_LIFE_DAYS: the same age, forgotten sooner
        by_order.setdefault(key, []).append((y - ratio[stage], w ** (HALF_LIFE_DAYS / LEVEL_HALF_LIFE_DAYS)))
    total = weights = 0.0
    for visits in by_order.values():
        share = sum(w for _, w in visits) / len(visits)
        total += share * sum(d for d, _ in visits) / len(visits)
        weights += share
    return total / (weights + LEVEL_WORTH)


def _scatter(residuals: Iterable[list[float]], prior: Calibration) -> tuple[float, float]:
    """(variance of a task about its order, variance of orders), each shrunk to the prior."""
    within, tasks, means = 0.0, 0, []
    for values in residuals:
        centre = sum(values) / len(values)
        within += sum((v - centre) ** 2 for v in values)
        tasks += len(values) - 1
        if len(values) >= 4:
            means.append((centre, len(values)))
    task_variance = (within + VARIANCE_WORTH * prior.task_variance) / (tasks + VARIANCE_WORTH)
    between = sum(max(-1.0, m * m - task_variance / n) for m, n in means)
    order_variance = (between + ORDER_VARIANCE_WORTH * prior.order_variance) / (
        len(means) + ORDER_VARIANCE_WORTH
    )
    return task_variance, max(order_variance, 0.005)


def _arrivals(
    learnt: Calibration, shop: Shop, seen: Sequence[OrderRecord], minute: int, days: float
) -> float | None:
    """Orders a calendar day over the last year, shrunk towards as many as give the assumed load."""
    route = mean_route([o.route for o in seen[-LATEST:]])
    if not route:
        return None
    assumed = arrivals_a_day(shop, route, replace(learnt, arrivals_a_day=None))
    window = min(days, ARRIVAL_DAYS)
    recent = sum(o.arrived > minute - window * MINUTES_A_DAY for o in seen)
    return (recent + ARRIVAL_WORTH_DAYS * assumed) / (window + ARRIVAL_WORTH_DAYS)


def _redo(learnt: Calibration, prior: Calibration, records: Sequence[StageRecord]) -> Calibration:
    passes = [r for r in records if r.stage == prior.rework.stage and not r.touch_up]
    more = sum(r.redo for r in passes)
    again = (REWORK_WORTH * prior.rework.again + more) / (REWORK_WORTH + len(passes))
    return replace(learnt, rework=replace(prior.rework, again=again))


def _absence(
    learnt: Calibration, prior: Calibration, shop: Shop, history: History, minute: int, days: float
) -> Calibration:
    absence, spell = _spells(
        history.absences, len(shop.persons) * days, minute, prior.absence_share, prior.absence_spell
    )
    machine_days = len(shop.machines) * days
    breakdown, broken = _spells(
        history.breakdowns, machine_days, minute, prior.breakdown_share, prior.breakdown_spell
    )
    return replace(
        learnt, absence_share=absence, absence_spell=spell, breakdown_share=breakdown, breakdown_spell=broken
    )


def _spells(
    days_out: frozenset[tuple[str, int]], total: float, minute: int, share: float, length: float
) -> tuple[float, float]:
    """(share of calendar days out, mean spell in days)."""
    known = {(who, day) for who, day in days_out if day <= minute // MINUTES_A_DAY}
    spells = sum((who, day - 1) not in known for who, day in known)
    return (
        (PERSON_DAYS_WORTH * share + len(known)) / (PERSON_DAYS_WORTH + total),
        (SPELLS_WORTH * length + len(known)) / (SPELLS_WORTH + spells),
    )


def _wait(usual: WaitLength, orders: Sequence[OrderRecord], minute: int) -> WaitLength:
    logs = [
        log(max(w.until - w.since, 60) / MINUTES_A_DAY)
        for o in orders
        for w in o.waits
        if w.kind == usual.kind and w.until is not None and w.until <= minute
    ]
    centre = (WAITS_WORTH * log(usual.median_days) + sum(logs)) / (WAITS_WORTH + len(logs))
    square = WAITS_WORTH * usual.spread**2 + sum((y - centre) ** 2 for y in logs)
    spread = sqrt(square / (WAITS_WORTH + len(logs)))
    curve = _curve(usual, logs) if len(logs) >= FEWEST_FOR_CURVE else ()
    return WaitLength(usual.kind, exp(centre), spread, len(logs), curve)


def _curve(usual: WaitLength, logs: Sequence[float]) -> tuple[tuple[float, float], ...]:
    """How the waits seen are spread, a few waits as usual among them; rising strictly."""
    normal = NormalDist()
    few = int(WAITS_WORTH)
    expected = [log(usual.median_days) + usual.spread * normal.inv_cdf((i + 0.5) / few) for i in range(few)]
    ordered = sorted([*logs, *expected])
    curve: list[tuple[float, float]] = []
    for share in CURVE_SHARES:
        place = share * len(ordered) - 0.5
        low = min(max(int(place), 0), len(ordered) - 2)
        part = min(max(place - low, 0.0), 1.0)
        value = ordered[low] + part * (ordered[low + 1] - ordered[low])
        curve.append((normal.inv_cdf(share), max(value, curve[-1][1] + 0.01 if curve else value)))
    return tuple(curve)


def widening_of(quotes: Sequence[OrderRecord], minute: int) -> tuple[float, int]:
    """(factor on 80 and 95 % lead times, quotes resolved): the conformal factor of the shop's own past quotes.

    The 80 % Kaplan-Meier quantile of lead / quoted 80 % lead over the last quotes, those not yet done censored at
    their age; shrunk in the logarithm towards 1 and never applied before ten are done.
    """
    given = [o for o in quotes if o.quoted is not None and o.arrived <= minute][-QUOTES_KEPT:]
    scores = []
    for o in given:
        assert o.quoted is not None
        lead = max(o.quoted[1] - o.arrived, 1)
        done = o.finished is not None and o.finished <= minute
        scores.append((((o.finished if done and o.finished else minute) - o.arrived) / lead, done))
    resolved = sum(done for _, done in scores)
    if resolved < EARLY_BELOW:
        return 1.0, resolved
    share = min(0.8 * (resolved + 1) / resolved, 1.0)
    factor = log(kaplan_meier_quantile(scores, share)) * resolved / (resolved + WIDENING_WORTH)
    return min(max(exp(factor), NARROWEST), WIDEST), resolved


def kaplan_meier_quantile(scores: Sequence[tuple[float, bool]], share: float) -> float:
    """The value by which `share` have happened, scores marked False censored (Kaplan & Meier, JASA 53 (1958) 457).

    The largest score when the curve does not come down so far.
    """
    alive, at_risk = 1.0, len(scores)
    for value, happened in sorted(scores, key=lambda s: (s[0], not s[1])):
        if happened:
            alive *= 1 - 1 / at_risk
            if 1 - alive >= share - 1e-12:
                return value
        at_risk -= 1
    return max(value for value, _ in scores)
