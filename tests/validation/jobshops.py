"""Comparisons of the plan search with published optima of job-shop instances, ten seconds each: apart for their time."""

from collections.abc import Iterator

from quoting.leadtime.chains import plan_chains
from tests.kit.job_shops import OPTIMA, jobs
from tests.validation.row import Basis, Kind, Row

SECONDS = 10
SOURCE = "Fisher & Thompson 1963 and Lawrence 1984, optimal makespans as published with the instances"


def rows() -> Iterator[Row]:
    """The makespan found for each instance, at most 6 % above the optimum, and 2.5 % on average."""
    excess = []
    for name, optimum in OPTIMA.items():
        found = plan_chains(jobs(name), seconds=SECONDS).makespan
        excess.append(100 * (found / optimum - 1))
        yield Row(
            f"makespan of {name}",
            found,
            optimum,
            optimum,
            1.06 * optimum,
            SOURCE,
            Basis.INDEPENDENT,
            Kind.SOLVER,
        )
    mean = sum(excess) / len(excess)
    yield Row(
        "mean excess over the optimum, percent", mean, 0.0, 0.0, 2.5, SOURCE, Basis.INDEPENDENT, Kind.SOLVER
    )
