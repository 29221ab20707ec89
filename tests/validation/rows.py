"""All comparisons with figures from outside the project; each contributing file has its own `rows()`."""

from collections.abc import Callable, Iterable
from functools import cache

from tests.validation import air, certified, charts, handbook, jobshops, queueing, regression, tunnel
from tests.validation.row import Row

CONTRIBUTORS: tuple[Callable[[], Iterable[Row]], ...] = (
    tunnel.rows,
    regression.rows,
    charts.rows,
    certified.rows,
    air.rows,
    handbook.rows,
)

LONG: tuple[Callable[[], Iterable[Row]], ...] = (queueing.rows, jobshops.rows)
"""Those that compute for minutes."""


@cache
def rows(*, long: bool = False) -> tuple[Row, ...]:
    """All comparisons, with `long` also those that take minutes."""
    contributors = CONTRIBUTORS + LONG if long else CONTRIBUTORS
    return tuple(row for contributed in contributors for row in contributed())
