"""Load the catalogue's files; loading again changes nothing, and rows of the owner's are kept."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from quoting.services.catalogue_fields import WrongRow
from quoting.services.catalogue_load import load_catalogue


class Command(BaseCommand):
    help = "Load timbers, engines, airframes, hub patterns and the rest of the catalogue from their files."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "folder", nargs="?", type=Path, default=settings.BASE_DIR / "fixtures" / "catalogue"
        )

    def handle(self, *args: Any, folder: Path, **options: Any) -> None:
        try:
            loaded = load_catalogue(folder)
        except WrongRow as error:
            raise CommandError(str(error)) from error
        for kind in loaded if options["verbosity"] else ():
            self.stdout.write(
                f"{kind.kind}: {kind.added} added, {kind.changed} changed, {kind.unchanged} unchanged,"
                f" {kind.kept_for_owner} kept for the owner"
            )
