"""What the tests of the orders application share: a shop in a real database, and the people in it."""

from collections.abc import Iterator

import pytest

from tests.kit.databases import SQLiteFile
from tests.orders.shop import Shop


@pytest.fixture
def shop(sqlite_template: SQLiteFile, django_db_blocker, settings) -> Iterator[Shop]:
    """A prepared shop on its own copy of a SQLite file."""
    with django_db_blocker.unblock(), sqlite_template.fresh() as database:
        yield Shop(database=database)


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def either(request: pytest.FixtureRequest, django_db_blocker) -> Iterator[Shop]:
    """A prepared shop, once on SQLite and once on PostgreSQL."""
    template = request.getfixturevalue(f"{request.param}_template")
    with django_db_blocker.unblock(), template.fresh() as database:
        yield Shop(vendor=request.param, database=database)
