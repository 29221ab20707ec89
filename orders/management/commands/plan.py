"""`manage.py plan`: look for a better plan of who does what when, within a time budget, and print it."""

import json
from argparse import ArgumentParser
from dataclasses import asdict
from datetime import timedelta
from typing import IO, Any, cast

from django.core.management.base import CommandError
from django.utils import timezone
from rich.console import Console
from rich.progress import Progress
from rich.table import Table

from orders.management.in_workshop_time import WorkshopCommand
from orders.services import replan
from orders.services.knowledge import snapshot_at
from quoting.leadtime import plan as planning
from quoting.leadtime.calendar import Calendar, ShopProblem
from quoting.leadtime.moves import Snapshot


class Command(WorkshopCommand):
    help = "Plan who does which stage when, within a time budget; Ctrl-C ends the search with the best plan so far."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--seconds", type=float, default=10.0, help="time for the search (default 10)")
        parser.add_argument("--days", type=int, default=10, help="days of each person's sheet (default 10)")
        parser.add_argument("--seed", type=int, default=0)
        parser.add_argument("--json", action="store_true", help="print JSON instead of tables")
        parser.add_argument("--keep", action="store_true", help="make the plan found the current one")

    def handle(self, *args: Any, **options: Any) -> None:
        if not 0.1 <= options["seconds"] <= 3600:
            raise CommandError("--seconds is from 0.1 to 3600.")
        if not 0 <= options["days"] <= 366:
            raise CommandError("--days is from 0 to 366.")
        seen = snapshot_at(timezone.now())
        if not seen.orders:
            raise CommandError("The queue is empty: there is nothing to plan.")
        try:
            found = self._search(seen, options)
        except ShopProblem as problem:
            raise CommandError(f"{problem}.") from None
        if options["keep"]:
            replan.replan({"reason": "a longer search"}, chosen=found)
        if options["json"]:
            self.stdout.write(json.dumps(asdict(found), indent=2))
            return
        self._tell(seen, found, options["days"])

    def _search(self, seen: Snapshot, options: dict[str, Any]) -> planning.Plan:
        with Progress(console=Console(stderr=True), transient=True) as shown:
            job = shown.add_task("plan", total=1.0)

            def tell(progress: planning.Progress) -> bool:
                gain = 100 * (1 - progress.best_cost / progress.first_cost) if progress.first_cost else 0.0
                words = f"{progress.tried} plans tried, {gain:.1f} % better"
                try:
                    shown.update(job, completed=progress.share, description=words)
                except KeyboardInterrupt:
                    return False
                return True

            return planning.plan(
                seen.shop,
                seen.orders,
                seen.calibration,
                now_minute=seen.now,
                seconds=options["seconds"],
                seed=options["seed"],
                progress=tell,
            )

    def _tell(self, seen: Snapshot, found: planning.Plan, days: int) -> None:
        console = Console(file=cast(IO[str], self.stdout), width=None if self.stdout.isatty() else 118)
        calendar = Calendar(seen.shop)
        names = {o.key: o.name for o in seen.orders}
        late, finished = dict(found.late), dict(found.completions)
        table = Table(title=f"Plan of {calendar.day(found.now):%d %B %Y}, {found.tried} tried")
        for heading in ("turn", "propeller", "finished", "promise", "late"):
            table.add_column(heading, justify="right" if heading in ("turn", "late") else "left")
        due = {o.key: o.due for o in seen.orders}
        for turn, key in enumerate(found.ranks, start=1):
            promised = due[key]
            promise = f"{calendar.day(promised):%d %b %Y}" if promised is not None else "-"
            days_late = f"{late[key] / 1440:.1f} d" if key in late else ""
            end = f"{calendar.day(finished[key]):%d %b %Y}" if key in finished else "-"
            table.add_row(str(turn), names[key], end, promise, days_late)
        console.print(table)
        for person in seen.shop.persons:
            self._sheet(console, seen, found, person.key, person.name, days)
        if found.bottleneck:
            who = next(p.name for p in seen.shop.persons if p.key == found.bottleneck.person)
            self.stdout.write(
                f"Most in demand: {who}, {100 * found.bottleneck.share:.0f} % of working time taken."
            )
        self.stdout.write(
            f"Weighted minutes late: {found.cost:.0f}; by earliest promise first {found.first_cost:.0f}."
        )

    def _sheet(
        self, console: Console, seen: Snapshot, found: planning.Plan, person: str, name: str, days: int
    ) -> None:
        names, stages = {o.key: o.name for o in seen.orders}, {s.key: s.name for s in seen.shop.stages}
        table = Table(title=name, title_justify="left")
        for heading in ("day", "from", "to", "propeller", "stage"):
            table.add_column(heading)
        today = Calendar(seen.shop).day(seen.now)
        for day in (today + timedelta(days=n) for n in range(days)):
            for work, begin, end in planning.day_sheet(found, seen.shop, person, day):
                hours = [f"{minute % 1440 // 60:02d}:{minute % 60:02d}" for minute in (begin, end)]
                table.add_row(
                    f"{day:%a %d %b}", *hours, names[work.order], stages.get(work.stage, work.stage)
                )
        if table.row_count:
            console.print(table)
