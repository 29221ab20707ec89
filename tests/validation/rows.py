"""All comparisons with figures from outside the project; each contributing file has its own `rows()`."""

from collections.abc import Callable, Iterable
from functools import cache

from tests.validation import air, certified, charts, handbook, regression, tunnel
from tests.validation.row import Row

CONTRIBUTORS: tuple[Callable[[], Iterable[Row]], ...] = (
    tunnel.rows,
    regression.rows,
    charts.rows,
    certified.rows,
    air.rows,
    handbook.rows,
)


@cache
def rows() -> tuple[Row, ...]:
    return tuple(row for contributed in CONTRIBUTORS for row in contributed())
