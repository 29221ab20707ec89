"""Work sent quotes again and list what comes out otherwise; an unexplained difference ends with an error."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from rich.console import Console
from rich.progress import Progress

from quoting.services.requoting import Requoted, requote, sent_quotes


class Command(BaseCommand):
    help = "Work sent quotes again from what is stored: lines, geometry, minutes and price."

    def add_arguments(self, parser: ArgumentParser) -> None:
        which = parser.add_mutually_exclusive_group(required=True)
        which.add_argument("number", nargs="?", help="a quote's number, such as Q-2026-0012")
        which.add_argument("--all", action="store_true", help="every quote that was ever sent")

    def handle(self, *args: Any, number: str | None, **options: Any) -> None:
        quotes = sent_quotes(number or "")
        count = quotes.count()
        if number and not count:
            raise CommandError(f"No quote {number} was ever sent.")
        identical = explained = unexplained = 0
        with Progress(console=Console(stderr=True), disable=count < 2, transient=True) as progress:
            for quote in progress.track(quotes.iterator(chunk_size=100), total=count, description="requote"):
                worked = requote(quote)
                identical += worked.is_identical
                explained += worked.is_explained and not worked.is_identical
                unexplained += not worked.is_explained
                self._tell(worked)
        self.stdout.write(f"{identical} identical, {explained} explained, {unexplained} unexplained")
        if unexplained:
            raise CommandError(f"{unexplained} of {count} quotes differ and nothing known explains it.")

    def _tell(self, worked: Requoted) -> None:
        for deviation in worked.deviations:
            cause = deviation.cause or "unexplained"
            line = f"{worked.reference}: {deviation.what}: {deviation.stored} -> {deviation.anew} ({cause})"
            self.stdout.write(line)
