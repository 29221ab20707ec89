"""`manage.py work`: the worker that runs jobs from the outbox."""

import signal
from threading import Event
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from orders import worker


class Command(BaseCommand):
    help = "Run jobs from the outbox until stopped; with --once, run what is due and end."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--once", action="store_true", help="run what is due, then end")
        parser.add_argument("--pause", type=float, default=1.0, help="seconds between looks (default 1)")

        parser.add_argument(
            "--cold", action="store_true", help="do not make the simulation ready before it is needed"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["once"]:
            self.stdout.write(f"{worker.sweep()} jobs run")
            return
        stop = Event()
        for name in (signal.SIGINT, signal.SIGTERM):
            signal.signal(name, lambda *_: stop.set())
        worker.work(stop, pause=options["pause"], warming=not options["cold"])
