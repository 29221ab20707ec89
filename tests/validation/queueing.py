"""Comparisons of the queue engine with closed results of queueing theory, within 1 %: minutes of computing, so apart."""

from collections.abc import Iterator

import numpy as np

from tests.kit.queueing import (
    Draw,
    Floats,
    constant,
    erlang_c,
    erlang_wait,
    exponential,
    lognormal_half,
    mean_and_error,
    simulated,
)
from tests.validation.row import Basis, Kind, Row, within

RUNS, CUSTOMERS = 24, 200_000
BUSY_RUNS = 96  # at a load of 0.9 the queue forgets slowly
ERLANG = "Erlang 1917, as in Gross & Harris, Fundamentals of Queueing Theory"
KHINCHINE = "Pollaczek 1930 and Khinchine 1932"
JACKSON = "Jackson, Operations Research 5 (1957) 518"
COBHAM = "Cobham, Operations Research 2 (1954) 70"


def rows() -> Iterator[Row]:
    """Mean waits and times, in units of the mean service."""
    for servers, load, runs, seed in (
        (1, 0.8, RUNS, 1),
        (2, 0.9, BUSY_RUNS, 2),
        (3, 0.8, RUNS, 3),
        (5, 0.7, RUNS, 4),
    ):
        waits = _waits([servers], servers * load, exponential, seed, runs=runs)
        name = f"M/M/{servers} at load {load}"
        yield _row(f"mean wait, {name}", waits, erlang_wait(servers, servers * load), ERLANG)
        yield _row(
            f"share that waits, {name}", (waits > 0).astype(float), erlang_c(servers, servers * load), ERLANG
        )
    for name, draw, squared in (("M/D/1", constant, 0.0), ("M/G/1, cv 0.5", lognormal_half, 0.25)):
        waits = _waits([1], 0.8, draw, 5)
        yield _row(f"mean wait, {name} at load 0.8", waits, 0.8 * (1 + squared) / (2 * (1 - 0.8)), KHINCHINE)
    for line, rate, theory in (
        ([1, 1, 1], 0.7, 3 / (1 - 0.7)),
        ([1, 2, 1], 0.8, 2 / (1 - 0.8) + 1 / (1 - 0.4**2)),
    ):
        sojourn, _ = simulated(line, [0, 1, 2], rate, exponential, 6, runs=RUNS, customers=CUSTOMERS)
        yield _row(f"mean time through stations of {line} servers at rate {rate}", sojourn, theory, JACKSON)
    sojourn, _ = simulated([1], [0] * 14, 0.5, exponential, 7, runs=RUNS, customers=CUSTOMERS, again=0.3)
    load = 0.5 / 0.7
    yield _row("mean time, one server with work done again at 0.3", sojourn, load / (1 - load) / 0.5, JACKSON)
    yield from _priority()


def _priority() -> Iterator[Row]:
    rush = np.random.default_rng(8).random(CUSTOMERS) < 0.25
    rank = np.arange(CUSTOMERS) + np.where(rush, 0, CUSTOMERS)
    waits = _waits([1], 0.8, exponential, 9, runs=2 * RUNS, rank=rank)
    yield _row("mean wait of rush customers, a quarter of load 0.8", waits[:, rush], 0.8 / (1 - 0.2), COBHAM)
    yield _row("mean wait of the others", waits[:, ~rush], 0.8 / ((1 - 0.2) * (1 - 0.8)), COBHAM)


def _waits(
    servers: list[int],
    rate: float,
    draw: Draw,
    seed: int,
    *,
    runs: int = RUNS,
    rank: np.ndarray | None = None,
) -> Floats:
    """Waits [runs, customers], a few runs at a time to be easy on memory."""
    parts = []
    for first in range(0, runs, 12):
        count = min(12, runs - first)
        sojourn, service = simulated(
            servers, [0], rate, draw, 1000 * seed + first, runs=count, customers=CUSTOMERS, rank=rank
        )
        parts.append(sojourn - service)
    return np.concatenate(parts)


def _row(quantity: str, samples: Floats, theory: float, source: str) -> Row:
    mean, error = mean_and_error(samples)
    remark = f"standard error {error:.2g}"
    return Row(
        quantity, mean, theory, *within(0.01, theory), source, Basis.INDEPENDENT, Kind.ARITHMETIC, remark
    )
