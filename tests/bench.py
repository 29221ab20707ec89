"""Measures the service on this machine: live answer, pages, start-up, solver, assessment, mesh and forecast.

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
from collections.abc import Callable
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


def timed(action: Callable[[], Any], times: int) -> tuple[float, float]:
    """Median and 95 % point of `times` runs, in milliseconds, after one unmeasured run."""
    action()
    taken = []
    for _ in range(times):
        began = time.perf_counter()
        action()
        taken.append(1000 * (time.perf_counter() - began))
    return median(taken), float(np.quantile(taken, 0.95))


def prepare() -> None:
    """A fresh database with the demo workshop and its queue."""
    call_command = import_module("django.core.management").call_command
    call_command("migrate", verbosity=0)
    call_command("load_catalogue", verbosity=0)
    began = time.perf_counter()
    call_command("load_demo", verbosity=0)
    import_module("orders.services.replan").replan({"reason": "bench"})
    print(f"demo loaded and planned in {time.perf_counter() - began:.1f} s", file=sys.stderr)


def rows() -> list[tuple[str, float, float]]:
    """(what, median ms, 95 % ms) of each measurement."""
    cast = import_module("demo.cast")
    live = import_module("quoting.services.estimating").live_estimate
    today = import_module("django.utils.timezone").localdate()
    assess = import_module("quoting.propeller.assessment").assess
    solid = import_module("quoting.propeller.solid")
    client = import_module("django.test").Client()
    asked = import_module("quoting.services.estimating").specification_from
    typed = {**cast.WALK, "country": "DE"}
    open_wish = {**typed, "wish": "recommend", "diameter": "", "pitch": ""}
    specification, _ = asked(typed)
    order = import_module("orders.models").Order.objects.filter(state="on the bench").first()
    made = assess(specification)
    return [
        ("live answer, size typed", *timed(lambda: live(typed, today=today), 60)),
        ("live answer, size recommended", *timed(lambda: live(open_wish, today=today), 60)),
        ("complete assessment", *timed(lambda: assess(specification), 40)),
        (
            "mesh with boss, bore and holes",
            *timed(lambda: solid.solid(made.surface, made.boss, made.blade.blades, hand=made.blade.hand), 10),
        ),
        ("page: home", *timed(lambda: client.get("/"), 30)),
        ("page: ask", *timed(lambda: client.get("/ask/"), 30)),
        ("page: one order", *timed(lambda: client.get(f"/order/{order.token}/"), 30)),
        ("start of the web application", *timed(start, 3)),
    ]


def start() -> None:
    subprocess.run([sys.executable, "-c", "import config.wsgi"], check=True, timeout=60)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="daybook-bench-") as folder:
        os.environ |= {
            "DAYBOOK_VAR": folder,
            "DAYBOOK_MODE": "demo",
            "DJANGO_SETTINGS_MODULE": "config.settings",
        }
        django.setup()
        import_module("django.conf").settings.ALLOWED_HOSTS = ["testserver"]
        prepare()
        unit = yardstick()
        measured = rows()
    machine = {
        "processor": platform.processor() or platform.machine(),
        "cores": os.cpu_count(),
        "python": platform.python_version(),
    }
    if options.json:
        found = [{"what": w, "median_ms": m, "p95_ms": p, "ratio": m / (1000 * unit)} for w, m, p in measured]
        print(json.dumps({"machine": machine, "yardstick_ms": 1000 * unit, "rows": found}, indent=2))
        return
    table = Table(
        title=f"{machine['cores']} cores, Python {machine['python']}; yardstick {1000 * unit:.0f} ms"
    )
    for heading in ("what", "median ms", "95 % ms", "yardsticks"):
        table.add_column(heading, justify="left" if heading == "what" else "right")
    for what, middle, high in measured:
        table.add_row(what, f"{middle:.1f}", f"{high:.1f}", f"{middle / (1000 * unit):.3f}")
    Console().print(table)


if __name__ == "__main__":
    main()
