"""The engine and a model of the same shop in a general simulation library end every order on the same minute."""

import pytest

from quoting.leadtime.calibration import Calibration
from quoting.leadtime.engine import run
from quoting.leadtime.forecast import drawn_futures
from tests.kit.second_model import second_model
from tests.kit.small_shop import NOW, queue, shop

CALIBRATION = Calibration(arrivals_a_day=0.4, absence_share=0.05, breakdown_share=0.0)


@pytest.mark.parametrize(("count", "futures"), [(12, 20), (40, 4)])
def test_every_order_of_every_future_ends_on_the_same_minute(count, futures):
    workshop, now = shop(), NOW + 3 * 1440
    problem, draws = drawn_futures(
        workshop, queue(count), CALIBRATION, now_minute=now, futures=futures, seed=5, days=500, reach_days=30
    )
    lay = problem.layout._replace(counted=problem.layout.enters)
    done, _ = run(lay, draws.dur, draws.gates, draws.out, now - problem.base)
    for m in range(futures):
        expected, numbers = second_model(workshop, problem, draws, m, now)
        assert (done[m, numbers] + problem.base).tolist() == expected
