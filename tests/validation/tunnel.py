"""Comparisons with wind-tunnel tests of a Clark-Y propeller: two blades (fitted), three blades and a model of it."""

from collections.abc import Iterator

import numpy as np

from quoting.propeller.aerodynamics import BODY_DRAG, OperatingPoints, Solution, solve
from quoting.propeller.blade import Blade
from tests.validation.row import Basis, Kind, Row, table, within

REPORT = "NACA TR 640, propeller 5868-9, read off the curves"
MODEL = "University of Illinois propeller data 2, NR640, 5 in"
_FEET_TEN = 3.048
# pooled limits as the project sets them, and how far a single point may stray
_LIMITS = {2: (0.03, 0.06), 3: (0.06, 0.10)}
_POINT = {2: (0.08, 0.10), 3: (0.10, 0.15)}
_EFFICIENCY = 0.04
# below the unstalled points: mean of C_P and C_T net; standing C_P is the readers' own continuation of the curve
_STALLING = (0.15, 0.12)
_STANDING = 0.20
_STALL_FITTED = (25, 30)
# small model: standing and flying, C_T and C_P
_SMALL = {"standing": (0.16, 0.22), "flying": (0.07, 0.15)}


def blade(blades: int, setting: float, diameter: float) -> Blade:
    """Propeller 5868-9 with its 0.75 R station set to `setting` degrees."""
    rows = table("blade_5868_9.csv")
    column = {name: np.array([float(row[name]) for row in rows]) for name in rows[0]}
    return Blade.from_table(
        diameter=diameter,
        blades=blades,
        r_R=column["radius_fraction"],
        c_R=column["chord_fraction"],
        t_c=column["thickness_ratio"],
        beta_deg=column["angle_deg"] + setting - 15,
    )


def _solved(blades: int, setting: int, advance: np.ndarray) -> Solution:
    """At the report's speeds: 1000 rpm to 20 degrees, 800 rpm above."""
    n = (1000 if setting <= 20 else 800) / 60
    return solve(blade(blades, setting, _FEET_TEN), OperatingPoints.at(advance * n * _FEET_TEN, n))


def _unstalled(advance: np.ndarray, efficiency: np.ndarray) -> np.ndarray:
    """Points between 0.55 of the advance ratio of best efficiency and 0.05 beyond it."""
    best = advance[np.nanargmax(efficiency)]
    return (advance > 0.55 * best) & (advance <= best + 0.0501) & np.isfinite(efficiency) & (advance >= 0.3)


def rows() -> Iterator[Row]:
    for blades in (2, 3):
        basis = Basis.FITTED if blades == 2 else Basis.INDEPENDENT
        errors: list[np.ndarray] = []
        for setting in (15, 20, 25, 30):
            test = _test(blades, setting)
            if not test:
                continue
            found, error = _points(blades, setting, test, basis)
            errors.append(error)
            yield from found
            yield from _stalling(blades, setting, test)
        yield from _pooled(blades, np.concatenate(errors), basis)
    yield from _model()


def _test(blades: int, setting: int) -> list[dict[str, str]]:
    return [
        r
        for r in table("tunnel_5868_9.csv")
        if int(r["blades"]) == blades and int(r["setting_deg"]) == setting
    ]


def _points(
    blades: int, setting: int, test: list[dict[str, str]], basis: Basis
) -> tuple[list[Row], np.ndarray]:
    advance, power, efficiency = _columns(test)
    ours = _solved(blades, setting, advance)
    net = ours.C_T * (1 - BODY_DRAG)
    chosen = np.flatnonzero(_unstalled(advance, efficiency))
    thrust = efficiency[chosen] * power[chosen] / advance[chosen]
    mine = {"C_P": ours.C_P[chosen], "C_T net": net[chosen]}
    found = []
    for (name, values), outside, share in zip(
        mine.items(), (power[chosen], thrust), _POINT[blades], strict=True
    ):
        for j, value, published in zip(advance[chosen], values, outside, strict=True):
            where = f"{name}, {blades} blades at {setting} deg, J {j:.2f}"
            found.append(
                Row(where, value, published, *within(share, published), REPORT, basis, Kind.MEASURED)
            )
    eta = advance[chosen] * net[chosen] / ours.C_P[chosen]
    errors = np.stack(
        [ours.C_P[chosen] / power[chosen] - 1, net[chosen] / thrust - 1, eta - efficiency[chosen]], axis=1
    )
    return found, errors


def _stalling(blades: int, setting: int, test: list[dict[str, str]]) -> Iterator[Row]:
    """Below 0.55 of the advance ratio of best efficiency, where the blade begins to stall, and standing."""
    advance, power, efficiency = _columns(test)
    ours = _solved(blades, setting, advance)
    best = advance[np.nanargmax(efficiency)]
    low = (advance >= 0.3 * best) & (advance <= 0.55 * best) & (advance >= 0.3)
    basis = Basis.FITTED if blades == 2 and setting in _STALL_FITTED else Basis.INDEPENDENT
    thrust = efficiency * power / np.where(advance > 0, advance, 1)
    standing = np.flatnonzero(advance == 0)[:1]
    for name, mine, outside, chosen, share in (
        ("C_P below", ours.C_P, power, np.flatnonzero(low), _STALLING[0]),
        ("C_T net below", ours.C_T * (1 - BODY_DRAG), thrust, np.flatnonzero(low), _STALLING[1]),
        ("C_P standing", ours.C_P, power, standing, _STANDING),
    ):
        if chosen.size:
            yield Row(
                f"mean ratio of {name}, {blades} blades at {setting} deg, {chosen.size} points",
                float((mine[chosen] / outside[chosen]).mean()),
                1.0,
                1 - share,
                1 + share,
                REPORT,
                basis,
                Kind.MEASURED,
                "continued by the readers to J 0, no static test" if chosen is standing else "",
            )


def _columns(test: list[dict[str, str]]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Advance ratio, power coefficient and efficiency (NaN where not read)."""
    advance = np.array([float(r["advance_ratio"]) for r in test])
    power = np.array([float(r["power_coefficient"]) for r in test])
    return advance, power, np.array([float(r["efficiency"] or "nan") for r in test])


def _pooled(blades: int, errors: np.ndarray, basis: Basis) -> Iterator[Row]:
    rms = np.sqrt((errors**2).mean(axis=0))
    for name, value, limit in zip(("C_P", "C_T"), rms[:2], _LIMITS[blades], strict=True):
        quantity = f"pooled rms error of {name}, {blades} blades, {len(errors)} points"
        yield Row(quantity, value, 0.0, 0.0, limit, REPORT, basis, Kind.MEASURED)
    mean = errors[:, 2].mean()
    quantity = f"pooled mean error of efficiency, {blades} blades"
    yield Row(quantity, mean, 0.0, -_EFFICIENCY, _EFFICIENCY, REPORT, basis, Kind.MEASURED)


def _model() -> Iterator[Row]:
    """Means over a small model's runs, at Reynolds numbers no order reaches.

    Power comes out an eighth to a fifth low: a degree more of blade angle would halve that, and laminar
    separation, which the polars' forced transition leaves out, adds drag there. Thrust against rpm agrees better.
    """
    for setting in (15, 20):
        test = [r for r in table("model_5868_9.csv") if int(r["setting_deg"]) == setting]
        column = {name: np.array([float(r[name]) for r in test]) for name in test[0]}
        n, j = column["rpm"] / 60, column["advance_ratio"]
        ours = solve(blade(2, setting, 0.127), OperatingPoints.at(j * n * 0.127, n))
        limit = 0.75 * np.pi * 0.75 * np.tan(np.radians(setting))
        for state, chosen in (("standing", j < 0.01), ("flying", (j > 0.01) & (j < limit))):
            for name, mine, theirs, share in (
                ("C_T", ours.C_T, column["thrust_coefficient"], _SMALL[state][0]),
                ("C_P", ours.C_P, column["power_coefficient"], _SMALL[state][1]),
            ):
                yield Row(
                    f"mean ratio of {name} {state}, model at {setting} deg, {chosen.sum()} points",
                    float((mine[chosen] / theirs[chosen]).mean()),
                    1.0,
                    1 - share,
                    1 + share,
                    MODEL,
                    Basis.INDEPENDENT,
                    Kind.MEASURED,
                    "Reynolds number 4 000 to 30 000",
                )
        yield _slope(setting, column, ours)


def _slope(setting: int, column: dict[str, np.ndarray], ours: Solution) -> Row:
    """How standing thrust grows with Reynolds number: the exponent of C_T over rpm, ours against the test's."""
    still = column["advance_ratio"] < 0.01
    rpm = np.log(column["rpm"][still])
    mine = float(np.polyfit(rpm, np.log(ours.C_T[still]), 1)[0])
    theirs = float(np.polyfit(rpm, np.log(column["thrust_coefficient"][still]), 1)[0])
    return Row(
        f"exponent of standing C_T over rpm, model at {setting} deg",
        mine,
        theirs,
        theirs - 0.08,
        theirs + 0.08,
        MODEL,
        Basis.INDEPENDENT,
        Kind.MEASURED,
        "Reynolds number 4 000 to 30 000",
    )
