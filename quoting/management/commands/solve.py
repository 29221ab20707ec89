"""Run any published blade through the project's solver: two CSV files in, one CSV out."""

import csv
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

import numpy as np
from django.core.management.base import BaseCommand, CommandError

from quoting.propeller.aerodynamics import BARE, WOODEN, OperatingPoints, Solution, Solver
from quoting.propeller.atmosphere import SEA_LEVEL_DENSITY
from quoting.propeller.blade import Blade, Reference
from quoting.propeller.columns import Columns, columns
from quoting.propeller.polars import Polar, given

LARGEST_FILE = 20_000_000
_COLUMNS = {
    "V_m_s": (0.0, 400.0, True),
    "J": (0.0, 10.0, True),
    "rpm": (0.0, 120_000.0, False),
    "rho": (0.0, 2.0, False),
}
"""Least and greatest accepted of each column of points, and whether the least itself is."""
_ANGLES = {"face": Reference.FLAT_FACE, "chord": Reference.CHORD_LINE}


class Command(BaseCommand):
    requires_system_checks = ()  # arithmetic alone: neither pages nor database are touched
    help = "Solve BLADE.csv (r_R, c_R, beta_deg, t_c) at POINTS.csv (V_m_s or J, rpm, rho) and print CSV."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("blade", type=Path, help="CSV: r_R, c_R, beta_deg, t_c")
        parser.add_argument(
            "points", type=Path, help="CSV: V_m_s or J; rpm (or --rpm); rho kg/m3 if not 1.225"
        )
        parser.add_argument(
            "--polar", type=Path, help="CSV: alpha_deg, cl, cd of one section for every station"
        )
        parser.add_argument("--diameter", type=float, required=True, help="m")
        parser.add_argument("--blades", type=int, default=2, choices=(2, 3, 4))
        parser.add_argument("--hub-radius", type=float, help="m; the first station if not given")
        parser.add_argument(
            "--angles", choices=tuple(_ANGLES), default="face", help="what beta_deg is measured to"
        )
        parser.add_argument("--rpm", type=float, help="for points without a column rpm")
        parser.add_argument(
            "--theory",
            choices=("corrected", "bare"),
            help="the project's corrections or blade-element theory alone; bare with --polar, else corrected",
        )
        parser.add_argument(
            "--own-stations", action="store_true", help="integrate over the blade's own stations"
        )
        parser.add_argument(
            "--loads", action="store_true", help="spanwise loads of one blade instead of totals"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        blade = _blade(options)
        polar = None if options["polar"] is None else _polar(options["polar"])
        theory = options["theory"] or ("bare" if polar else "corrected")
        points, table = _points(options, blade)
        solver = Solver(
            blade,
            polar=polar,
            corrections=BARE if theory == "bare" else WOODEN,
            **({"stations": None} if options["own_stations"] else {}),
        )
        try:
            solution = solver.at(points)
        except ValueError as error:
            raise CommandError(f"{options['points']}: {table.at_line(str(error))}") from None
        writer = csv.writer(self.stdout, lineterminator="\n")
        loads = options["loads"]
        writer.writerows(_load_rows(points, solution, blade) if loads else _rows(points, solution))


def _read(path: Path, required: tuple[str, ...], optional: tuple[str, ...] = ()) -> Columns:
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise CommandError(f"{path}: larger than {LARGEST_FILE // 1_000_000} MB")
        return columns(path.read_text(encoding="utf-8-sig"), required, optional)
    except OSError as error:
        raise CommandError(f"{path}: {error.strerror}") from None
    except UnicodeDecodeError:
        raise CommandError(f"{path}: is not UTF-8 text") from None
    except (ValueError, csv.Error) as error:
        raise CommandError(f"{path}: {error}") from None


def _blade(options: dict[str, Any]) -> Blade:
    table = _read(options["blade"], ("r_R", "c_R", "beta_deg", "t_c"))
    diameter, hub = options["diameter"], options["hub_radius"]
    innermost = 0.5 * diameter * float(table.values["r_R"][0])
    if hub is not None and diameter > 0 and not 0 < hub <= innermost:
        raise CommandError(
            f"--hub-radius: {hub:g} m given, accepted is more than 0 and up to the first station, {innermost:g} m"
        )
    try:
        return Blade.from_table(
            diameter=diameter,
            blades=options["blades"],
            reference=_ANGLES[options["angles"]],
            hub_fraction=min(2 * hub / diameter, table.values["r_R"][0]) if hub and diameter > 0 else None,
            r_R=table.values["r_R"],
            c_R=table.values["c_R"],
            t_c=table.values["t_c"],
            beta_deg=table.values["beta_deg"],
        )
    except ValueError as error:
        raise CommandError(f"{options['blade']}: {table.at_line(str(error))}") from None


def _polar(path: Path) -> Polar:
    table = _read(path, ("alpha_deg", "cl", "cd"))
    try:
        return given(*(table.values[name] for name in ("alpha_deg", "cl", "cd")))
    except ValueError as error:
        raise CommandError(f"{path}: {table.at_line(str(error))}") from None


def _points(options: dict[str, Any], blade: Blade) -> tuple[OperatingPoints, Columns]:
    path = options["points"]
    table = _read(path, (), ("V_m_s", "J", "rpm", "rho"))
    values = table.values
    if ("V_m_s" in values) == ("J" in values):
        raise CommandError(f"{path}: give column V_m_s or column J, and only one of them")
    if "rpm" not in values and options["rpm"] is None:
        raise CommandError(f"{path}: column rpm is missing; give it, or --rpm")
    if options["rpm"] is not None and "rpm" not in values and not 0 < options["rpm"] <= _COLUMNS["rpm"][1]:
        raise CommandError(f"--rpm: {options['rpm']:g} given, accepted is more than 0 and up to 120000")
    for name, column in values.items():
        low, high, whole = _COLUMNS[name]
        wrong = np.flatnonzero(~((column >= low) & (column <= high) & (whole | (column > low))))
        if wrong.size:
            accepted = f"{low:g} to {high:g}" if whole else f"more than {low:g} and up to {high:g}"
            line, value = table.lines[wrong[0]], column[wrong[0]]
            raise CommandError(
                f"{path}: line {line}, column {name}: {value:g} given, accepted are {accepted}"
            )
    rows = len(table.lines)
    speed = values.get("rpm", np.full(rows, options["rpm"] or 0.0)) / 60
    airspeed = values["V_m_s"] if "V_m_s" in values else values["J"] * speed * blade.diameter
    density = values.get("rho", np.full(rows, SEA_LEVEL_DENSITY))
    try:
        return OperatingPoints.with_density(airspeed, speed, density), table
    except ValueError as error:
        raise CommandError(f"{path}: {table.at_line(str(error))}") from None


def _rows(points: OperatingPoints, solution: Solution) -> list[list[str]]:
    head = "V_m_s rpm rho J C_T C_P efficiency thrust_N torque_N_m power_W".split()
    table = np.column_stack(
        [
            points.airspeed,
            60 * points.speed,
            points.density,
            solution.J,
            solution.C_T,
            solution.C_P,
            solution.efficiency,
            solution.thrust,
            solution.torque,
            solution.power,
        ]
    )
    return [head, *([_text(value) for value in row] for row in table)]


def _load_rows(points: OperatingPoints, solution: Solution, blade: Blade) -> list[list[str]]:
    head = "V_m_s rpm r_R thrust_N_per_m torque_N_m_per_m alpha_deg phi_deg cl cd mach reynolds".split()
    rows = [
        [
            points.airspeed[i],
            60 * points.speed[i],
            solution.radius[k] / blade.radius,
            solution.thrust_per_m[i, k],
            solution.torque_per_m[i, k],
            np.degrees(solution.alpha[i, k]),
            np.degrees(solution.phi[i, k]),
            solution.lift[i, k],
            solution.drag[i, k],
            solution.mach[i, k],
            solution.reynolds[i, k],
        ]
        for i in range(points.speed.size)
        for k in range(solution.radius.size)
    ]
    return [head, *([_text(value) for value in row] for row in rows)]


def _text(value: float) -> str:
    """Seven figures, empty where there is no value."""
    return "" if np.isnan(value) else f"{value:.7g}"
