"""Measures the service on this machine: live answer, pages, quotes, start-up, solver, assessment, mesh and forecast.

Prints the hardware, a table, and with `--json` the same as JSON. Seconds differ between machines; the ratios are against a
fixed piece of numpy work run beside each measurement.
"""

import argparse
import json
import os
import platform
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, replace
from functools import partial
from importlib import import_module
from statistics import median
from typing import Any

import django
import numpy as np
from rich.console import Console
from rich.table import Table


def yardstick() -> float:
    """Seconds of a fixed piece of numpy work: 40 sorts of 200 000 numbers."""
    numbers = np.random.default_rng(1).random(200_000)
    began = time.perf_counter()
    for _ in range(40):
        np.sort(numbers)
    return time.perf_counter() - began


@dataclass(frozen=True)
class Measured:
    """One measurement: median and 95 % point in milliseconds of wall clock, least processor time, and what is wanted."""

    what: str
    median_ms: float
    p95_ms: float
    cpu_ms: float
    wanted: str = ""


def timed(what: str, action: Callable[[], Any], times: int, wanted: str = "") -> Measured:
    """`times` runs after one unmeasured run; the least processor time is what a quiet machine needs."""
    action()
    wall, processor = [], []
    for _ in range(times):
        began, worked = time.perf_counter(), time.process_time()
        action()
        wall.append(1000 * (time.perf_counter() - began))
        processor.append(1000 * (time.process_time() - worked))
    return Measured(what, median(wall), float(np.quantile(wall, 0.95)), min(processor), wanted)


def prepare() -> None:
    """A fresh database with the demo workshop and its queue."""
    call_command = import_module("django.core.management").call_command
    call_command("migrate", verbosity=0)
    call_command("load_catalogue", verbosity=0)
    began = time.perf_counter()
    call_command("load_demo", verbosity=0)
    import_module("orders.services.replan").replan({"reason": "bench"})
    print(f"demo loaded and planned in {time.perf_counter() - began:.1f} s", file=sys.stderr)


POINTS = 20_000


def geometry() -> Iterator[Measured]:
    """The pure part: solver, complete sizings and the mesh. Needs no database."""
    samples = import_module("tests.quoting.samples")
    wish = import_module("quoting.propeller.specification").Wish
    blade = import_module("quoting.propeller.blade").Blade.wooden(diameter=1.8288, pitch=1.1176)
    aerodynamics = import_module("quoting.propeller.aerodynamics")
    assess = import_module("quoting.propeller.assessment").assess
    solid = import_module("quoting.propeller.solid").solid
    airspeed = np.linspace(0, 60, POINTS)
    points = aerodynamics.OperatingPoints.at(airspeed, np.linspace(30, 45, POINTS))
    solver = aerodynamics.Solver(blade)
    solved = timed("solver, 20 000 points, 14 stations", lambda: solver.at(points), 7)
    rate = POINTS / solved.cpu_ms * 1000
    yield replace(solved, wanted=f"{rate:,.0f} points/s of 60,000 wanted")
    given = samples.specification()
    open_wish = replace(given, wish=wish.RECOMMEND, diameter=None, pitch=None)
    yield timed("sizing and checks, size given", lambda: assess(given), 30, "40 ms")
    yield timed("sizing and checks, size recommended", lambda: assess(open_wish), 30, "40 ms")
    made = assess(given)
    mesh = partial(solid, made.surface, made.boss, made.blade.blades, hand=made.blade.hand)
    yield timed("mesh with boss, bore and holes", mesh, 12, "80 ms")


QUOTES = 1000


def quotes() -> Iterator[Measured]:
    """Stored quotes: printed, worked again, and a thousand of them priced under a draft price book."""
    sent = list(
        import_module("quoting.models").Quote.objects.exclude(state="drafted").select_related("series")
    )
    quote_paper = import_module("orders.services.papers_of_sale").quote_paper
    render = import_module("quoting.documents.render").render
    requote = import_module("quoting.services.requoting").requote
    reprice_quotes = import_module("quoting.services.repricing").reprice_quotes
    book = import_module("quoting.services.pricebook").book_of(sent[0].price_book)
    draft = book.redrafted("draft", {"carve.per_litre": book["carve.per_litre"] + 1})
    thousand = (sent * (QUOTES // len(sent) + 1))[:QUOTES]
    yield timed("quote as PDF, four sheets", lambda: render("quote", quote_paper(sent[0])), 10, "500 ms")
    yield timed("one quote worked again", lambda: requote(sent[0]), 10)
    yield timed("1 000 quotes under a draft", lambda: list(reprice_quotes(thousand, draft)), 1, "10 000 ms")


def service() -> Iterator[Measured]:
    """The web application over a fresh demo: live answers, pages and its start."""
    cast = import_module("demo.cast")
    live = import_module("quoting.services.estimating").live_estimate
    today = import_module("django.utils.timezone").localdate()
    client = import_module("django.test").Client()
    typed = {**cast.WALK, "country": "DE"}
    open_wish = {**typed, "wish": "recommend", "diameter": "", "pitch": ""}
    order = import_module("orders.models").Order.objects.filter(state="on the bench").first()
    yield timed("live answer, size typed", lambda: live(typed, today=today), 60, "95 % in 150 ms")
    yield timed("live answer, size recommended", lambda: live(open_wish, today=today), 60, "95 % in 150 ms")
    yield timed("page: home", lambda: client.get("/"), 30)
    yield timed("page: ask", lambda: client.get("/ask/"), 30)
    yield timed("page: one order", lambda: client.get(f"/order/{order.token}/"), 30)
    yield timed("start of the web application", start, 3)


def start() -> None:
    subprocess.run([sys.executable, "-c", "import config.wsgi"], check=True, timeout=60)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument(
        "--geometry", action="store_true", help="only solver, sizing and mesh: no demo is loaded"
    )
    parser.add_argument("--leadtime", action="store_true", help="only the forecast: no demo is loaded")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="daybook-bench-") as folder:
        os.environ |= {
            "DAYBOOK_VAR": folder,
            "DAYBOOK_MODE": "demo",
            "DJANGO_SETTINGS_MODULE": "config.settings",
        }
        django.setup()
        import_module("django.conf").settings.ALLOWED_HOSTS = ["testserver"]
        unit = yardstick()
        measured = [] if options.leadtime else list(geometry())
        if not options.geometry:
            measured += import_module("tests.bench_leadtime").leadtime()
        if not (options.geometry or options.leadtime):
            prepare()
            measured += quotes()
            measured += service()
    machine = {
        "processor": platform.processor() or platform.machine(),
        "cores": os.cpu_count(),
        "python": platform.python_version(),
    }
    if options.json:
        found = [{**asdict(m), "ratio": m.median_ms / (1000 * unit)} for m in measured]
        print(json.dumps({"machine": machine, "yardstick_ms": 1000 * unit, "rows": found}, indent=2))
        return
    table = Table(
        title=f"{machine['cores']} cores, Python {machine['python']}; yardstick {1000 * unit:.0f} ms"
    )
    for heading in ("what", "median ms", "95 % ms", "least CPU ms", "yardsticks", "wanted"):
        table.add_column(heading, justify="left" if heading in ("what", "wanted") else "right")
    for m in measured:
        figures = (
            f"{m.median_ms:.1f}",
            f"{m.p95_ms:.1f}",
            f"{m.cpu_ms:.1f}",
            f"{m.median_ms / (1000 * unit):.3f}",
        )
        table.add_row(m.what, *figures, m.wanted)
    Console(width=124).print(table)


if __name__ == "__main__":
    main()
