"""Measures the forecast: a whole queue, the same shop in a general simulation library, a look-up, and memory."""

import resource
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np

from quoting.leadtime.calibration import Calibration
from quoting.leadtime.engine import run
from quoting.leadtime.forecast import drawn_futures, forecast
from quoting.leadtime.probes import outlook
from quoting.leadtime.promise import forecast_for
from tests.bench import Measured, timed
from tests.kit.second_model import second_model
from tests.kit.small_shop import NOW, ROUTE, queue, shop

PLAIN = Calibration()
SAME = Calibration(arrivals_a_day=0.3, absence_share=0.05, breakdown_share=0.0)
FEW, SEVERAL = 3, 200  # futures of the general library, and of the engine, compared by the time of one


def leadtime() -> Iterator[Measured]:
    """All measurements of the forecast; needs no database."""
    hundred = partial(forecast, shop(), queue(100), PLAIN, now_minute=NOW, futures=1000, typical=ROUTE)
    yield timed("forecast, 100 orders x 1 000 futures", hundred, 7, "250 ms")
    yield _against_general_library()
    for count in (100, 500):
        seen = outlook(shop(), queue(count), PLAIN, now_minute=NOW, typical=ROUTE, futures=60)
        look = partial(forecast_for, seen, 900)
        yield timed(f"date looked up, {count} orders", look, 200, "20 ms")
    yield _memory()


def _against_general_library() -> Measured:
    workshop, orders = shop(), queue(100)
    problem, draws = drawn_futures(
        workshop, orders, SAME, now_minute=NOW, futures=SEVERAL, seed=1, days=900, reach_days=100
    )
    layout = problem.layout._replace(counted=problem.layout.enters)
    parts = draws.dur, draws.gates, draws.out
    ours = timed("engine, one thread, one future", lambda: run(layout, *parts, NOW - problem.base), 5)
    began = time.process_time()
    for m in range(FEW):
        second_model(workshop, problem, draws, m, NOW)
    theirs = 1000 * (time.process_time() - began) / FEW
    ratio = theirs / (ours.cpu_ms / SEVERAL)
    return replace(
        ours,
        median_ms=ours.median_ms / SEVERAL,
        p95_ms=ours.p95_ms / SEVERAL,
        cpu_ms=ours.cpu_ms / SEVERAL,
        wanted=f"{ratio:.0f} times the general library's {theirs:.0f} ms; 60 wanted",
    )


def _memory() -> Measured:
    began, worked = time.perf_counter(), time.process_time()
    text = subprocess.check_output([sys.executable, "-m", "tests.bench_leadtime"], text=True)
    wall, cpu = 1000 * (time.perf_counter() - began), 1000 * (time.process_time() - worked)
    return Measured(
        "memory, 500 orders x 1 000 futures",
        wall,
        wall,
        cpu,
        f"{text.strip()}; 400 MB wanted",
    )


def main() -> None:
    """Print the megabytes that a forecast of 500 orders by 1 000 futures needs, over a small one's."""
    forecast(shop(), queue(5), PLAIN, now_minute=NOW, futures=4, typical=ROUTE)
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    before = pages * resource.getpagesize() / 2**20
    done = forecast(shop(), queue(500), PLAIN, now_minute=NOW, futures=1000, typical=ROUTE)
    assert np.all(done.minutes > NOW)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{peak - before:.0f} MB over the {before:.0f} MB of interpreter and libraries")


if __name__ == "__main__":
    main()
