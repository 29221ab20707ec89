"""What the tests of the orders application share: a shop in a real database, and the people in it."""

from collections.abc import Iterator

import pytest

from tests.kit.databases import SQLiteFile
from tests.kit.provider import SECRET, StandIn, stand_in
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


@pytest.fixture(scope="module")
def provider() -> Iterator[StandIn]:
    """The stand-in card provider in a process of its own."""
    with stand_in() as running:
        yield running


@pytest.fixture
def with_cards(settings, provider: StandIn) -> StandIn:
    """Cards are offered, by the stand-in."""
    settings.STRIPE_API_KEY = "sk_test_standin"
    settings.STRIPE_API_BASE = provider.address
    settings.STRIPE_WEBHOOK_SECRETS = [SECRET]
    return provider
