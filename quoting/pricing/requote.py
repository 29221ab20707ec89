"""Working a stored quote again: its lines from stored quantities and rates, and its geometry and minutes compared."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from math import isclose
from typing import Any

from quoting.pricing.lines import Price, StageMinutes
from quoting.pricing.money import Money, total
from quoting.propeller.measures import Measures

LAST = 1e-12
"""Processors that add in another order differ in the last digits of a float, about 1e-16 each time; no more is let pass."""
LAST_DIGITS = "the last digits of another processor's arithmetic"


@dataclass(frozen=True, slots=True)
class Versions:
    """What a quote was worked with: the model of the propeller and the formulas of minutes and price."""

    model: str
    pricing: str


@dataclass(frozen=True, slots=True)
class Deviation:
    """One figure that came out otherwise than stored. `cause` is empty where nothing known explains it."""

    what: str
    stored: str
    anew: str
    cause: str = ""

    @property
    def is_explained(self) -> bool:
        return bool(self.cause)


def rework(price: Price) -> tuple[Deviation, ...]:
    """Stored quantities x stored rates, tax and totals again: any deviation is unexplained, whatever the version."""
    return tuple(_rework(price))


def compare_measures(
    stored: Measures, anew: Measures, then: Versions, now: Versions
) -> tuple[Deviation, ...]:
    """Every measure that differs, explained by another model version, or by the last digits of another processor."""
    cause = _cause("propeller model", then.model, now.model)
    pairs = ((f.name, getattr(stored, f.name), getattr(anew, f.name)) for f in fields(Measures))
    return tuple(
        Deviation(name, repr(a), repr(b), cause or (LAST_DIGITS if isclose(a, b, rel_tol=LAST) else ""))
        for name, a, b in pairs
        if a != b
    )


def compare_work(
    stored: Sequence[StageMinutes],
    anew: Sequence[StageMinutes],
    then: Versions,
    now: Versions,
    *,
    measures_differ: bool = False,
) -> tuple[Deviation, ...]:
    """Minutes and waits of each stage that differ, explained by versions or by measures that were explained."""
    cause = _cause("pricing formulas", then.pricing, now.pricing)
    if not cause and measures_differ:
        cause = "the measures above"
    old, new = _by_stage(stored), _by_stage(anew)
    return tuple(
        Deviation(stage, str(old.get(stage, "none")), str(new.get(stage, "none")), cause)
        for stage in [*old, *(s for s in new if s not in old)]
        if old.get(stage) != new.get(stage)
    )


def compare_prices(
    stored: Price, anew: Price, then: Versions, now: Versions, *, work_differs: bool = False
) -> tuple[Deviation, ...]:
    """Lines that a price worked anew has otherwise, and the totals; explained by versions or by the minutes."""
    cause = _cause("pricing formulas", then.pricing, now.pricing) or (
        "the figures above" if work_differs else ""
    )
    old = {line.key: (line.quantity, line.rate, line.net) for line in stored.lines}
    new = {line.key: (line.quantity, line.rate, line.net) for line in anew.lines}
    lines = [
        Deviation(key, _shown(old.get(key)), _shown(new.get(key)), cause)
        for key in [*old, *(k for k in new if k not in old)]
        if old.get(key) != new.get(key)
    ]
    totals = ("net", "tax", "gross", "deposit", "balance", "cost")
    pairs = ((name, getattr(stored, name), getattr(anew, name)) for name in totals)
    return (*lines, *(Deviation(name, str(a), str(b), cause) for name, a, b in pairs if a != b))


def _rework(price: Price) -> Iterator[Deviation]:
    currency = price.currency
    for line in price.lines:
        yield from _differs(line.key, line.net, Money.rounded(line.quantity * line.rate, currency))
    for tax in price.taxes:
        base = total((n.net for n in price.lines if n.tax_code == tax.code), currency)
        yield from _differs(f"base of {tax.code}", tax.base, base)
        yield from _differs(f"tax of {tax.code}", tax.tax, base.times(tax.percent / 100))
    codes = {t.code for t in price.taxes}
    for line in price.lines:
        if line.tax_code not in codes:
            yield Deviation(line.key, f"tax {line.tax_code}", "no tax of that code")
    net = total((n.net for n in price.lines), currency)
    yield from _differs("net", price.net, net)
    yield from _differs("tax", price.tax, total((t.tax for t in price.taxes), currency))
    yield from _differs("gross", price.gross, price.net + price.tax)
    yield from _differs("balance", price.balance, price.gross - price.deposit)
    yield from _differs("cost", price.cost, total((n.cost for n in price.lines), currency))


def _differs(what: str, stored: Money, anew: Money) -> Iterator[Deviation]:
    if stored != anew:
        yield Deviation(what, str(stored), str(anew))


def _cause(of: str, then: str, now: str) -> str:
    return "" if then == now else f"{of} {then or 'unknown'}, now {now}"


def _by_stage(work: Sequence[StageMinutes]) -> dict[str, str]:
    return {s.stage: f"{s.minutes} min, wait {s.wait_minutes} min" for s in work}


def _shown(line: tuple[Any, Any, Any] | None) -> str:
    return "none" if line is None else f"{line[0]} x {line[1]} = {line[2]}"
