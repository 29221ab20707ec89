"""Prepare the database and answer requests: the web process that `bin/serve` starts."""

import argparse
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.core.checks import run_checks
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.core.wsgi import get_wsgi_application
from django.db import OperationalError, connections
from django.urls import get_resolver
from gunicorn.app.base import BaseApplication

from orders.checks import MAIL
from orders.models import BenchPerson


class Web(BaseApplication):  # type: ignore[misc]
    """gunicorn around an application that is loaded already: its processes share what one interpreter imported."""

    def __init__(self, application: Callable[..., Any], **chosen: Any) -> None:
        self.application, self.chosen = application, chosen
        super().__init__()

    def load_config(self) -> None:
        for name, value in self.chosen.items():
            self.cfg.set(name, value)

    def load(self) -> Callable[..., Any]:
        return self.application


class Command(BaseCommand):
    help = "Migrates, loads catalogue and demo workshop into a new database, then answers requests."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--workers", type=int, default=2)

    def handle(self, *args: Any, **options: Any) -> None:
        for fault in run_checks(tags=[MAIL]):
            raise CommandError(fault.msg)
        self.prepare()
        application = get_wsgi_application()
        get_resolver().url_patterns  # noqa: B018 -- loads every page before the first one is asked for
        connections.close_all()
        Web(
            application,
            bind=f"{options['host']}:{options['port']}",
            workers=options["workers"],
            threads=4,
            preload_app=True,
            loglevel="warning",
        ).run()

    def prepare(self) -> None:
        """Migrate, and load catalogue and demo workshop when the database is new."""
        try:
            call_command("migrate", verbosity=0, interactive=False, skip_checks=True)
        except OperationalError as trouble:
            raise CommandError(f"The database cannot be used: {trouble}") from None
        call_command("load_catalogue", verbosity=0)
        if settings.DEMO and not BenchPerson.objects.exists():
            self.stdout.write("Loading the demo workshop ...")
            self.stdout.flush()
            call_command("load_demo", verbosity=0)
