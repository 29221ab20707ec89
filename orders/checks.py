"""What must hold before anything is trusted to the service: a mail server to send by, and SQLite's settings read back."""

from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, register
from django.core.exceptions import ImproperlyConfigured
from django.db.backends.base.base import BaseDatabaseWrapper

MAIL = "mail"


@register(MAIL)
def mail_can_be_sent(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    """A real workshop names its mail server and its sender; the demo sends nothing."""
    missing = [] if settings.DEMO else [name for name, value in _needed_for_mail() if not value]
    return [
        Error(
            f"{' and '.join(missing)} must be set, or no mail reaches a customer: see the top of config/settings.py.",
            id="orders.E001",
        )
    ] * bool(missing)


def _needed_for_mail() -> tuple[tuple[str, str], ...]:
    return ("EMAIL_HOST", settings.EMAIL_HOST), ("MAIL_FROM", settings.DEFAULT_FROM_EMAIL)


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
