"""Customers through bare stations of the engine: what closed results of queueing theory are compared with."""

from collections.abc import Callable
from math import log, sqrt

import numpy as np
import numpy.typing as npt

from quoting.leadtime.engine import run
from tests.kit.stations import UNIT, stations

Floats = npt.NDArray[np.float64]
Draw = Callable[[np.random.Generator, tuple[int, ...]], Floats]


def erlang_c(servers: int, arrivals: float) -> float:
    """Chance of waiting in M/M/c, service mean 1: Erlang (1917), recursion as in Gross & Harris, Queueing Theory."""
    blocking = 1.0
    for k in range(1, servers + 1):
        blocking = arrivals * blocking / (k + arrivals * blocking)
    load = arrivals / servers
    return blocking / (1 - load + load * blocking)


def erlang_wait(servers: int, arrivals: float) -> float:
    """Mean wait in M/M/c, service mean 1."""
    return erlang_c(servers, arrivals) / (servers - arrivals)


def exponential(rng: np.random.Generator, shape: tuple[int, ...]) -> Floats:
    return rng.standard_exponential(shape)


def lognormal_half(rng: np.random.Generator, shape: tuple[int, ...]) -> Floats:
    """Mean 1, coefficient of variation 0.5."""
    variance = log(1.25)
    return np.exp(rng.standard_normal(shape) * sqrt(variance) - variance / 2)


def constant(rng: np.random.Generator, shape: tuple[int, ...]) -> Floats:
    return np.ones(shape)


def simulated(
    servers: list[int],
    visits: list[int],
    rate: float,
    draw: Draw,
    seed: int,
    *,
    runs: int,
    customers: int,
    again: float | None = None,
    rank: npt.NDArray[np.int64] | None = None,
) -> tuple[Floats, Floats]:
    """(sojourn, service) [runs, customers] in units of service time."""
    rng = np.random.default_rng(seed)
    arrive = np.cumsum(rng.standard_exponential((runs, customers)) / rate, axis=1) * UNIT
    arrive = np.rint(arrive).astype(np.int64)
    dur = np.maximum(1, np.rint(draw(rng, (runs, customers, len(visits))) * UNIT)).astype(np.int32)
    if again is not None:
        passes = rng.geometric(1 - again, (runs, customers))
        dur[np.arange(len(visits)) >= passes[..., None]] = 0
    lay = stations(servers, visits, customers, rank)
    closed = np.zeros((1, sum(servers), 1), np.uint8)
    done, _ = run(lay, dur.reshape(runs, -1), arrive, closed, 0)
    return (done - arrive) / UNIT, dur.sum(axis=2) / UNIT


def mean_and_error(samples: Floats) -> tuple[float, float]:
    """Mean over runs and its standard error; the first tenth and the last twentieth of each run are dropped."""
    kept = samples[:, samples.shape[1] // 10 : -samples.shape[1] // 20]
    means = kept.mean(axis=1)
    return float(means.mean()), float(means.std(ddof=1) / sqrt(len(means)))
