"""The engine against closed results of queueing theory, within 3 % and four standard errors."""

import numpy as np
import pytest

from quoting.leadtime.engine import run
from tests.kit.queueing import constant, erlang_wait, exponential, lognormal_half, mean_and_error, simulated
from tests.kit.stations import stations

RUNS, CUSTOMERS = 8, 50_000
CLOSED = np.zeros((1, 64, 1), np.uint8)


def passed(*args, runs=RUNS, customers=CUSTOMERS, **options):
    return simulated(*args, runs=runs, customers=customers, **options)


def agrees(samples: np.ndarray, theory: float) -> None:
    mean, error = mean_and_error(samples)
    assert abs(mean - theory) < min(0.03 * theory, 4 * error), (mean, theory, error)


@pytest.mark.parametrize(("servers", "load"), [(1, 0.8), (3, 0.8), (5, 0.7)])
def test_mean_wait_of_several_servers_is_erlangs(servers, load):
    sojourn, service = passed([servers], [0], servers * load, exponential, 11)
    agrees(sojourn - service, erlang_wait(servers, servers * load))


def test_mean_wait_of_two_busy_servers_is_erlangs():
    sojourn, service = passed([2], [0], 1.8, exponential, 12, runs=24, customers=100_000)
    agrees(sojourn - service, erlang_wait(2, 1.8))


@pytest.mark.parametrize(("draw", "squared_cv"), [(constant, 0.0), (lognormal_half, 0.25)])
def test_mean_wait_of_one_server_is_pollaczek_and_khinchines(draw, squared_cv):
    sojourn, service = passed([1], [0], 0.8, draw, 13)
    agrees(sojourn - service, 0.8 * (1 + squared_cv) / (2 * (1 - 0.8)))


@pytest.mark.parametrize(("servers", "rate", "theory"), [([1, 1, 1], 0.7, 10.0), ([1, 2, 1], 0.8, 11.1905)])
def test_mean_time_through_a_tandem_is_jacksons(servers, rate, theory):
    sojourn, _ = passed(servers, [0, 1, 2], rate, exponential, 14, runs=16)
    agrees(sojourn, theory)


def test_redoing_work_with_probability_p_is_a_feedback_queue():
    sojourn, _ = passed([1], [0] * 12, 0.5, exponential, 15, again=0.3)
    agrees(sojourn, 5.0)


def test_rush_and_ordinary_customers_wait_as_cobham_says():
    rush = np.random.default_rng(16).random(CUSTOMERS) < 0.25
    rank = np.arange(CUSTOMERS) + np.where(rush, 0, CUSTOMERS)
    sojourn, service = passed([1], [0], 0.8, exponential, 17, rank=rank, runs=16)
    wait = sojourn - service
    agrees(wait[:, rush], 1.0)
    agrees(wait[:, ~rush], 5.0)


def test_the_share_of_customers_that_wait_is_the_load():
    sojourn, service = passed([1], [0], 0.8, exponential, 18)
    agrees((sojourn - service > 0).astype(float), 0.8)


def test_a_wait_held_on_a_rack_of_one_place_is_served_in_series():
    """Three pieces of 10 minutes that dry 100: each waits for the place the one before it leaves."""
    lay = stations([3], [0], 3)
    lay = lay._replace(wait=np.full(3, 100), queue_rack=np.array([0]), capacity=np.array([1]))
    done, _ = run(lay, np.full((1, 3), 10, np.int32), np.zeros((1, 3), np.int64), CLOSED[:, :3], 0)
    assert done.tolist() == [[110, 220, 330]]
