"""Write the drawing, charts, templates and solid of a stored quote or of a specification in a file."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from quoting.models import Quote
from quoting.propeller.assessment import Assessment, assess
from quoting.propeller.drawing.cells import TitleBlock
from quoting.propeller.version import MODEL_VERSION
from quoting.services.drawing_files import NothingToDrawError, drawing_files
from quoting.services.estimating import specification_from
from quoting.services.quotes import specification_of


class Command(BaseCommand):
    help = "Draw a stored quote (its number; the latest revision) or a JSON file with the fields of the ask page."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("subject", help="a quote's number, or a JSON file with one object of fields")
        parser.add_argument("--into", type=Path, default=Path(), help="folder to write to; this one")
        parser.add_argument("--units", choices=("in", "mm"), default="in", help="units of the sheet; in")
        parser.add_argument(
            "--paper", choices=("a4", "us-letter"), default="a4", help="paper of the templates"
        )
        parser.add_argument("--revision", type=int, help="revision of the quote; the latest")
        parser.add_argument("--drawn-by", default="", help="name in the title block")

    def handle(self, *args: Any, subject: str, into: Path, **options: Any) -> None:
        assessment, block = self._subject(subject, options["revision"], options["drawn_by"])
        try:
            made = drawing_files(assessment, block, units=options["units"], paper=options["paper"])
        except NothingToDrawError as refused:
            raise CommandError(str(refused)) from None
        into.mkdir(parents=True, exist_ok=True)
        for name, content in made.files.items():
            (into / name).write_bytes(content)
            self.stdout.write(f"{into / name}  {len(content)} bytes")
        for reason in made.left_out:
            self.stderr.write(f"left out: {reason}")

    def _subject(self, subject: str, revision: int | None, drawn_by: str) -> tuple[Assessment, TitleBlock]:
        if Path(subject).is_file():
            return self._from_file(Path(subject), drawn_by)
        stored = Quote.objects.filter(series__number=subject)
        if revision is not None:
            stored = stored.filter(revision=revision)
        quote = stored.order_by("-revision").first()
        if quote is None:
            raise CommandError(f"no quote {subject} is stored, and there is no such file.")
        if quote.model_version != MODEL_VERSION:
            self.stderr.write(
                f"quoted under model {quote.model_version}, drawn under {MODEL_VERSION}: figures may differ"
            )
        day = timezone.localdate(quote.drafted_at)
        block = TitleBlock(drawn_by, quote.series.number, str(quote.revision), quote.state, day)
        return assess(specification_of(quote)), block

    def _from_file(self, file: Path, drawn_by: str) -> tuple[Assessment, TitleBlock]:
        try:
            typed = json.loads(file.read_text("utf-8"))
        except (OSError, ValueError) as fault:
            raise CommandError(f"{file} cannot be read as JSON: {fault}") from None
        if not isinstance(typed, dict):
            raise CommandError(f"{file}: one object of fields is wanted.")
        specification, findings = specification_from(typed)
        if specification is None:
            raise CommandError("\n".join(f"{f.field or 'specification'}: {f.message}" for f in findings))
        return assess(specification), TitleBlock(drawn_by, file.stem, "-", "estimate", timezone.localdate())
