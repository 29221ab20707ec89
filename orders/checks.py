"""What must hold of the database before anything is trusted to it: SQLite's settings, read back from the connection."""

from typing import Any

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.db.backends.base.base import BaseDatabaseWrapper

_read: set[str] = set()


def read_pragmas_back(connection: BaseDatabaseWrapper, **kwargs: Any) -> None:
    """Once a process and database file, compare SQLite's pragmas with the settings; a misplaced option does nothing.

    Raises ImproperlyConfigured naming the pragma. A database in memory has no journal to speak of and is left out.
    """
    name = str(connection.settings_dict["NAME"])
    in_memory = ":memory:" in name or "mode=memory" in name
    if connection.vendor != "sqlite" or in_memory or name in _read:
        return
    with connection.cursor() as cursor:
        for pragma, wanted in settings.SQLITE_PRAGMAS.items():
            cursor.execute(f"PRAGMA {pragma}")
            found = cursor.fetchone()[0]
            if found != wanted:
                raise ImproperlyConfigured(f"SQLite runs with {pragma} = {found!r}, {wanted!r} is needed")
    _read.add(name)
