"""Comparisons with the regression case of a published blade-element solver: theory alone, its polar, no corrections."""

from collections.abc import Iterator

import numpy as np

from quoting.propeller.aerodynamics import BARE, OperatingPoints, Solution, solve
from quoting.propeller.blade import Blade, Reference
from quoting.propeller.polars import given
from tests.validation.row import Basis, Kind, Row, table, within

SOURCE = "CCBlade.jl test set, commit 2a3838d"
DIAMETER = 0.1524
SPEED = 8000 / 60
_SHARE = 0.005


def _column(name: str, column: str) -> np.ndarray:
    return np.array([float(row[column]) for row in table(name)])


def solved(airspeed: np.ndarray) -> Solution:
    """The published blade at `airspeed` m/s and 8000 rpm, integrated over its own stations as the source does."""
    radius = _column("solver_blade.csv", "radius_in") / 3
    blade = Blade.from_table(
        diameter=DIAMETER,
        blades=2,
        r_R=radius,
        c_R=_column("solver_blade.csv", "chord_in") / 3,
        t_c=np.full_like(radius, 0.12),
        beta_deg=_column("solver_blade.csv", "angle_deg"),
        reference=Reference.CHORD_LINE,
        hub_fraction=0.5 / 3,
    )
    polar = given(*(_column("solver_polar.csv", name) for name in ("alpha_deg", "lift", "drag")))
    points = OperatingPoints.at(airspeed, SPEED)
    return solve(blade, points, polar=polar, corrections=BARE, stations=None)


def rows() -> Iterator[Row]:
    advance = _column("solver_result.csv", "advance_ratio")
    ours = solved(advance * SPEED * DIAMETER)
    for name, mine in (("thrust", ours.C_T), ("power", ours.C_P)):
        outside = _column("solver_result.csv", f"{name}_coefficient")
        for j, value, published in zip(advance, mine, outside, strict=True):
            yield Row(
                f"{name} coefficient of the regression blade, J {j:.3f}",
                value,
                published,
                *within(_SHARE, published),
                SOURCE,
                Basis.INDEPENDENT,
                Kind.SOLVER,
            )
    loads = solved(np.array([10.0])).thrust_per_m[0]
    outside = _column("solver_blade.csv", "normal_load_n_m")
    for i in range(0, outside.size, 4):
        yield Row(
            f"normal load N/m of the regression blade, station {i + 1}",
            loads[i],
            outside[i],
            *within(_SHARE, outside[i]),
            SOURCE,
            Basis.INDEPENDENT,
            Kind.SOLVER,
        )
