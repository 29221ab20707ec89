"""`manage.py export_journal`: the journal as CSV, with a manifest beside it."""

from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from orders.management.in_workshop_time import WorkshopCommand
from orders.services.export import journal_csv, manifest


class Command(WorkshopCommand):
    help = "Write the posted journal as CSV and its manifest (counts, totals, SHA-256) beside it."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="where to write, for instance var/journal.csv")
        parser.add_argument("--first", type=date.fromisoformat, help="first posting date, YYYY-MM-DD")
        parser.add_argument("--last", type=date.fromisoformat, help="last posting date, YYYY-MM-DD")

    def handle(self, *args: Any, **options: Any) -> None:
        content = journal_csv(options["first"], options["last"])
        file: Path = options["file"]
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content)
        file.with_suffix(".json").write_text(manifest(content))
        self.stdout.write(f"{file}: {content.count(chr(10).encode()) - 1} lines")
