"""What computing costs, as ratios of processor time on one machine: seconds are measured by bin/bench."""

import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from quoting.propeller.aerodynamics import OperatingPoints, Solver
from quoting.propeller.assessment import assess
from quoting.propeller.blade import Blade
from quoting.propeller.solid import solid
from quoting.propeller.specification import Wish
from tests.quoting.samples import specification

SOLVER = Solver(Blade.wooden(diameter=1.83, pitch=1.12))


def points(count: int) -> OperatingPoints:
    return OperatingPoints.at(np.linspace(0, 60, count), np.linspace(30, 45, count))


MANY = points(3000)


def cost(action: Callable[[], Any], times: int = 3) -> float:
    """Least processor time of some runs after a first one that is not counted."""
    action()
    taken = []
    for _ in range(times):
        began = time.process_time()
        action()
        taken.append(time.process_time() - began)
    return min(taken)


def thousands(action: Callable[[], Any]) -> float:
    """What `action` costs in thousands of operating points, solved beside it; the least of several goes.

    Where the solver is as fast as is asked of it, a thousand points are a sixtieth of a second.
    """
    return min(3 * cost(action) / cost(lambda: SOLVER.at(MANY)) for _ in range(4))


def test_points_are_solved_together_at_a_fraction_of_one_by_one():
    one = points(1)
    assert thousands(lambda: SOLVER.at(one)) > 10 / 1000


def test_a_complete_sizing_costs_no_more_than_a_few_thousand_points():
    open_wish = replace(specification(), wish=Wish.RECOMMEND, diameter=None, pitch=None)
    assert thousands(lambda: assess(open_wish)) < 5


def test_a_mesh_costs_no_more_than_twelve_thousand_points():
    made = assess(specification())
    assert thousands(lambda: solid(made.surface, made.boss, 2, hand=made.blade.hand)) < 12
