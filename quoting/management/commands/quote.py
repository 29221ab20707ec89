"""Answer specifications from a file: is it sound, what does it cost, when can it be ready; a table or JSON."""

import json
from argparse import ArgumentParser
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from rich.console import Console
from rich.progress import Progress
from rich.table import Table

from quoting.pricing.summary import summary
from quoting.propeller.finding import Severity
from quoting.services.estimating import Answer, live_estimate
from quoting.services.serial import unstructured

LARGEST_FILE = 10_000_000


class Command(BaseCommand):
    help = "Answer one specification, or a list of many, from a JSON file with the fields of the ask page."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, help="JSON: an object of fields, or a list of such objects")
        parser.add_argument("--json", action="store_true", dest="as_json", help="JSON instead of tables")
        parser.add_argument("--on", type=date.fromisoformat, help="the day to answer for, YYYY-MM-DD; today")

    def handle(self, *args: Any, file: Path, as_json: bool, on: date | None, **options: Any) -> None:
        asked = _read(file)
        today = on or timezone.localdate()
        with Progress(console=Console(stderr=True), disable=len(asked) < 2, transient=True) as progress:
            answers = [
                live_estimate(typed, today=today) for typed in progress.track(asked, description="quote")
            ]
        if as_json:
            self.stdout.write(json.dumps([_plain(a) for a in answers], indent=2, ensure_ascii=False))
        else:
            self._print(answers)
        unanswered = sum(a.estimate is None or a.estimate.is_stopped for a in answers)
        if unanswered:
            raise CommandError(f"{unanswered} of {len(answers)} specifications got no price.")

    def _print(self, answers: list[Answer]) -> None:
        console = Console(file=self.stdout, width=110)  # type: ignore[arg-type]
        for number, answer in enumerate(answers, 1):
            console.print(_table(f"{number} of {len(answers)}", answer))
            for finding in answer.problems if answer.estimate is None else answer.findings:
                if finding.severity is not Severity.NOTE:
                    where = f"{finding.field}: " if finding.field else ""
                    console.print(f"  {finding.severity}: {where}{finding.message}", markup=False)


def _read(file: Path) -> list[dict[str, Any]]:
    """The objects in the file; raises CommandError saying what is wrong with it."""
    try:
        if file.stat().st_size > LARGEST_FILE:
            raise CommandError(f"{file} is larger than {LARGEST_FILE} bytes.")
        found = json.loads(
            file.read_text(encoding="utf-8"), object_pairs_hook=_once, parse_constant=_no_constant
        )
    except (OSError, ValueError) as error:
        raise CommandError(f"{file}: {error}") from error
    except RecursionError as error:
        raise CommandError(f"{file}: nested too deeply.") from error
    asked = found if isinstance(found, list) else [found]
    if not asked or not all(isinstance(one, dict) for one in asked):
        raise CommandError(f"{file}: an object of fields, or a list of such objects, is wanted.")
    return asked


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    names = [name for name, _ in pairs]
    for name in names:
        if names.count(name) > 1:
            raise ValueError(f"{name} stands twice in one object")
    return dict(pairs)


def _no_constant(text: str) -> None:
    raise ValueError(f"{text} is no number")


def _table(title: str, answer: Answer) -> Table:
    table = Table(title=title, title_justify="left")
    table.add_column("")
    table.add_column("", justify="right")
    made = answer.estimate
    if made is None or made.price is None:
        table.add_row("no price", "see below")
        return table
    measures = made.assessment.measures
    assert measures is not None
    table.add_row("diameter x pitch", f"{measures.diameter / 0.0254:.1f} x {measures.pitch / 0.0254:.1f} in")
    table.add_row("mass", f"{measures.mass:.2f} kg")
    table.add_row("bench time", f"{made.minutes / 60:.1f} h")
    for line in summary(made.price):
        table.add_row(line.label, str(line.amount))
    table.add_row("net", str(made.price.net), end_section=True)
    for tax in made.price.taxes:
        table.add_row(f"{tax.label} {tax.percent.normalize():f} %", str(tax.tax))
    table.add_row("total", str(made.price.gross))
    if made.forecast is not None:
        table.add_row("likely by", made.forecast.likely_by.isoformat())
        table.add_row("plan on", made.forecast.plan_on.isoformat())
        table.add_row("19 in 20 by", made.forecast.nineteen_in_twenty.isoformat())
    return table


def _plain(answer: Answer) -> dict[str, Any]:
    """The answer as JSON: what was computed, or the fields to mend."""
    made = answer.estimate
    found: dict[str, Any] = {
        "typed": dict(answer.typed),
        "problems": unstructured(answer.problems),
        "findings": unstructured(answer.findings),
    }
    if made is not None:
        found |= {
            "measures": unstructured(made.assessment.measures),
            "work": unstructured(made.work),
            "price": unstructured(made.price),
            "summary": unstructured(summary(made.price) if made.price else ()),
            "forecast": unstructured(made.forecast),
            "price_book": made.price_book,
            "model_version": made.model_version,
            "pricing_version": made.pricing_version,
            "as_of": made.as_of.isoformat(),
        }
    return found
