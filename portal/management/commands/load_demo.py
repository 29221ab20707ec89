"""Load the invented demo workshop into an empty database; its dates are offsets from today."""

import gc
from random import Random
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from demo.history import SEED, tell
from demo.workshop import demo_time, open_demo
from orders.models import Workshop
from orders.services import outbox


class Command(BaseCommand):
    help = "Loads the demo workshop with two years of orders."

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.DEMO:
            raise CommandError("The demo is loaded in demo mode only (DAYBOOK_MODE=demo).")
        if Workshop.objects.exists():
            raise CommandError("There is a workshop in this database already.")
        now = timezone.now()
        gc.disable()  # a short-lived command that makes many rows: a tenth of its time otherwise
        with demo_time(), transaction.atomic():
            open_demo(now)
            tell(now, Random(SEED), self.say if options["verbosity"] > 1 else lambda _: None)  # noqa: S311 -- a seeded demo
            outbox.enqueue("replan", {"reason": "the demo is loaded"}, now=now, debounce="replan")

    def say(self, line: str) -> None:
        self.stdout.write(line)
