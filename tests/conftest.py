"""What every test shares: fast password hashing, which tools are present, and the prepared shop in two databases."""

import os
import shutil
from collections.abc import Iterator

import hypothesis
import pytest
from django.db.backends.sqlite3.operations import DatabaseOperations

from tests.kit.databases import EmbeddedPostgres, SQLiteFile
from tests.kit.planned_shop import set_up_planned
from tests.orders.shop import set_up

# Results are asserted, not seconds: a slow machine fails no property. CI draws the same examples each time.
hypothesis.settings.register_profile(
    "house",
    deadline=None,
    derandomize=os.environ.get("CI") == "true",
    suppress_health_check=[hypothesis.HealthCheck.too_slow],
)
hypothesis.settings.load_profile("house")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """One process holds the PostgreSQL. Without Chromium the browser tests are named as not run; with CI=true that fails."""
    for item in items:
        if "postgres" in item.keywords:
            item.add_marker(pytest.mark.xdist_group("postgres"))
    if shutil.which("chromium") or os.environ.get("CI") == "true":
        return
    reason = pytest.mark.skip(reason="no Chromium; on Debian: apt-get install chromium")
    for item in items:
        if "browser" in item.keywords:
            item.add_marker(reason)


@pytest.fixture(autouse=True)
def quick_passwords(settings: object) -> None:
    """Argon2 is slow on purpose; tests need not wait for it."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]  # type: ignore[attr-defined]


@pytest.fixture(scope="session", autouse=True)
def emptying_steps_past_the_triggers() -> Iterator[None]:
    """A test with real transactions empties the tables afterwards; on SQLite the triggers that keep records would refuse."""
    flush = DatabaseOperations.execute_sql_flush

    def flush_without_triggers(self: DatabaseOperations, statements: list[str]) -> None:
        with self.connection.cursor() as cursor:
            cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
            triggers = cursor.fetchall()
        dropped = [f"DROP TRIGGER {name}" for name, _ in triggers]
        flush(self, [*dropped, *statements, *(sql for _, sql in triggers)])

    DatabaseOperations.execute_sql_flush = flush_without_triggers  # type: ignore[method-assign]
    yield
    DatabaseOperations.execute_sql_flush = flush  # type: ignore[method-assign]


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory, django_db_blocker) -> SQLiteFile:
    with django_db_blocker.unblock():
        return SQLiteFile(tmp_path_factory.mktemp("sqlite"), set_up)


@pytest.fixture(scope="session")
def postgres_template(
    tmp_path_factory: pytest.TempPathFactory, django_db_blocker
) -> Iterator[EmbeddedPostgres]:
    with django_db_blocker.unblock():
        server = EmbeddedPostgres(set_up)
    yield server
    server.stop()


@pytest.fixture(scope="session")
def planned_template(
    sqlite_template: SQLiteFile, tmp_path_factory: pytest.TempPathFactory, django_db_blocker
) -> SQLiteFile:
    """A shop with a plan."""
    with django_db_blocker.unblock():
        return SQLiteFile(tmp_path_factory.mktemp("planned"), set_up_planned, start=sqlite_template)
