"""The forecast tried on made-up shops: what `forecast --backtest --synthetic` prints."""

from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

from quoting.leadtime.backtest import (
    FIRST_YEAR_DAYS,
    QUEUE_METHODS,
    SIMULATION,
    Score,
    Scored,
    backtest,
    score,
)
from quoting.leadtime.synthetic import synthetic


def trial(
    shops: int,
    *,
    seed: int = 0,
    years: int = 3,
    futures: int = 200,
    processes: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> dict[str, Score]:
    """Scores by method over `shops` made-up shops of seeds seed, seed + 1 and so on, and of the first year alone.

    Names: "simulation", "queue_regression" and "simulation, first year". Several processes share the shops out.
    """
    found: dict[str, list[Scored]] = {name: [] for name in QUEUE_METHODS}
    jobs = [(seed + i, years, futures) for i in range(shops)]
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
        for done, quotes in enumerate(pool.map(one_shop, jobs) if processes > 1 else map(one_shop, jobs)):
            for name, rows in quotes.items():
                # each shop's quotes make clusters of their own
                found[name] += [_apart(q, done, years) for q in rows]
            if progress:
                progress(done + 1, shops)
    scores = {name: score(rows) for name, rows in found.items()}
    first = [q for q in found[SIMULATION] if q.given % _shop_days(years) < FIRST_YEAR_DAYS]
    return scores | {f"{SIMULATION}, first year": score(first)}


def one_shop(job: tuple[int, int, int]) -> dict[str, tuple[Scored, ...]]:
    """The quotes of one made-up shop, given (seed, years, futures)."""
    seed, years, futures = job
    return backtest(*synthetic(seed, years=years), futures=futures)


def _shop_days(years: int) -> int:
    return 360 * (years + 2)


def _apart(quote: Scored, shop: int, years: int) -> Scored:
    return Scored(quote.given + shop * _shop_days(years), quote.said, quote.lead, quote.done, quote.early)
