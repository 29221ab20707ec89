"""`manage.py forecast`: when every order is likely to be ready; with --backtest, how good such dates have been."""

import json
from argparse import ArgumentParser
from datetime import date
from math import isnan
from typing import IO, Any, cast

from django.core.management.base import CommandError
from django.utils import timezone
from rich.console import Console
from rich.progress import Progress
from rich.table import Table

from orders.management.in_workshop_time import WorkshopCommand
from orders.services.history import history_of
from orders.services.knowledge import snapshot_at
from orders.services.shop import shop_of, typical_route
from quoting.leadtime.backtest import Score, as_json, backtest, first_year, score
from quoting.leadtime.calendar import Calendar, ShopProblem, round_up
from quoting.leadtime.forecast import Completions, forecast
from quoting.leadtime.moves import Snapshot
from quoting.leadtime.probes import promise_minutes
from quoting.leadtime.trial import trial

FIRST_YEAR = "simulation, first year"


class Command(WorkshopCommand):
    help = "Simulate the queue and print when each order is likely to be ready; or replay the past with --backtest."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="print JSON instead of a table")
        parser.add_argument("--futures", type=int, help="sampled futures (default 1000; 200 for a backtest)")
        parser.add_argument("--seed", type=int, default=0, help="the same seed gives the same futures")
        parser.add_argument(
            "--backtest", action="store_true", help="replay the shop's own record and score its dates"
        )
        parser.add_argument(
            "--synthetic", type=int, metavar="N", help="with --backtest: replay N made-up shops instead"
        )
        parser.add_argument("--years", type=int, default=3, help="years of each made-up shop (default 3)")
        parser.add_argument(
            "--processes", type=int, default=1, help="processes that share the made-up shops out"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["synthetic"] is not None and not options["backtest"]:
            raise CommandError("--synthetic goes with --backtest.")
        for name, least, most in (
            ("futures", 20, 10_000),
            ("synthetic", 1, 500),
            ("years", 1, 10),
            ("processes", 1, 64),
        ):
            if options[name] is not None and not least <= options[name] <= most:
                raise CommandError(f"--{name} is from {least} to {most}.")
        try:
            if options["backtest"]:
                self._backtest(options)
            else:
                self._forecast(options)
        except ShopProblem as problem:
            raise CommandError(f"{problem}.") from None

    def _forecast(self, options: dict[str, Any]) -> None:
        seen = snapshot_at(timezone.now())
        with Progress(console=Console(stderr=True), transient=True) as progress:
            job = progress.add_task("forecast", total=1.0)

            def tell(share: float) -> bool:
                progress.update(job, completed=share)
                return True

            done = forecast(
                seen.shop,
                seen.orders,
                seen.calibration,
                now_minute=seen.now,
                futures=options["futures"] or 1000,
                seed=options["seed"],
                typical=typical_route(),
                progress=tell,
            )
        rows = _dates(seen, done)
        knowledge = {
            "early": seen.calibration.early,
            "finished": seen.calibration.finished,
            "record_days": round(seen.calibration.record_days),
            "widening": round(seen.calibration.widening, 3),
        }
        if options["json"]:
            self.stdout.write(
                json.dumps({"version": done.version, "calibration": knowledge, "orders": rows}, indent=2)
            )
            return
        table = Table(title=f"{len(rows)} propellers in the queue, version {done.version}")
        for heading in ("propeller", "waits on", "promise", "likely by", "plan on", "19 in 20 by", "late"):
            table.add_column(heading, justify="right" if heading == "late" else "left")
        for row in rows:
            late = "" if row["late"] is None else f"{100 * row['late']:.0f} %"
            dates = [row[name] or "" for name in ("promise", "p50", "p80", "p95")]
            table.add_row(row["name"], ", ".join(row["waits_on"]) or "-", *dates, late)
        self._console().print(table)
        if seen.calibration.early:
            known = seen.calibration
            self.stdout.write(
                f"Early: {known.finished} quotes kept or missed in a record of {known.record_days:.0f} days; "
                "the dates still rest much on usual values."
            )

    def _backtest(self, options: dict[str, Any]) -> None:
        futures = options["futures"] or 200
        with Progress(console=Console(stderr=True), transient=True) as progress:
            job = progress.add_task("backtest", total=None)

            def tell(done: int, total: int) -> None:
                progress.update(job, completed=done, total=total)

            if options["synthetic"]:
                scores = trial(
                    options["synthetic"],
                    seed=options["seed"],
                    years=options["years"],
                    futures=futures,
                    processes=options["processes"],
                    progress=tell,
                )
            else:
                shop = shop_of(timezone.localdate())
                history = history_of(Calendar(shop))
                if not history.orders:
                    raise CommandError("No order has been accepted yet: there is nothing to replay.")
                quotes = backtest(
                    shop, history, futures=futures, seed=options["seed"], skip_days=0, progress=tell
                )
                scores = {name: score(rows) for name, rows in quotes.items()}
                scores[FIRST_YEAR] = score(first_year(quotes["simulation"]))
        early = scores.pop(FIRST_YEAR)
        if options["json"]:
            plain = _plain(as_json(scores) | {"first_year": as_json({"simulation": early})["methods"]})
            self.stdout.write(json.dumps(plain, indent=2))
            return
        table = Table(title="Dates that would have been given, against what came to pass")
        for heading in (
            "method",
            "done by 50 %",
            "by 80 %",
            "by 95 %",
            "pinball, days",
            "width, days",
            "quotes",
        ):
            table.add_column(heading, justify="left" if heading == "method" else "right")
        for name, found in (*scores.items(), (FIRST_YEAR, early)):
            table.add_row(name.replace("_", " "), *_cells(found))
        self._console().print(table)
        self.stdout.write("± is the standard error with quotes of the same two months taken together.")

    def _console(self) -> Console:
        return Console(file=cast(IO[str], self.stdout), width=None if self.stdout.isatty() else 118)


def _dates(seen: Snapshot, done: Completions) -> list[dict[str, Any]]:
    """One row an order: what it waits on, its promise, its dates and its chance of being late; None while on hold."""
    calendar = Calendar(seen.shop)
    today = calendar.day(seen.now)
    days = calendar.working_days(today, 1500)
    rows = []
    for order in seen.orders:
        dates: list[date | None] = [None, None, None]
        late = None
        if not order.held:
            minutes = promise_minutes(done.of(order.key), seen.now, seen.calibration)
            dates = [round_up(calendar.day(m), today, days) for m in minutes]
            late = done.late(order.key, order.due) if order.due is not None else None
        p50, p80, p95 = (day.isoformat() if day else None for day in dates)
        rows.append(
            {
                "key": order.key,
                "name": order.name,
                "held": order.held,
                "rush": order.klass == 0,
                "waits_on": [w.kind for w in order.waits],
                "promise": calendar.day(order.due).isoformat() if order.due is not None else None,
                "p50": p50,
                "p80": p80,
                "p95": p95,
                "late": late,
            }
        )
    return rows


def _cells(found: Score) -> list[str]:
    kept = [f"{100 * c:.0f} ± {100 * e:.0f} %" for c, e in zip(found.coverage, found.error, strict=True)]
    return [*kept, f"{found.pinball:.2f}", f"{found.width:.1f}", str(found.quotes)]


def _plain(value: Any) -> Any:
    """JSON knows no NaN: what could not be told is null."""
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    return None if isinstance(value, float) and isnan(value) else value
