"""Past orders like the one under review: by size, blades and timber, with what was quoted and what the bench took."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from statistics import median
from typing import Any

from django.db.models import F, Q, Sum
from django.utils import timezone

from orders.models import Order, Propeller, Stage
from quoting.pricing.money import Money, round_half_up
from quoting.propeller.measures import Measures
from quoting.propeller.specification import Specification

NEWEST = 400
"""Older orders say little about today's hours."""
MOST = 6
SIZE, OTHER_BLADES, OTHER_TIMBER, OTHER_USE = 10.0, 2.0, 1.0, 1.0
"""How far apart two propellers are: a tenth in diameter or pitch counts as much as another timber."""


@dataclass(frozen=True, slots=True)
class Comparable:
    """One past order. Money and minutes are those of one propeller; `recorded` None while no build of it is done."""

    number: str
    title: str
    accepted_on: date
    timber: str
    diameter: float
    pitch: float
    quantity: int
    net: Money
    margin: Decimal | None
    estimated: int
    recorded: int | None
    by_stage: Mapping[str, int]

    @property
    def overrun(self) -> Decimal | None:
        """Recorded over estimated minutes, less one."""
        if self.recorded is None or not self.estimated:
            return None
        return round_half_up(Decimal(self.recorded - self.estimated) / self.estimated, 3)


def comparable_orders(
    specification: Specification, measures: Measures, *, most: int = MOST
) -> tuple[Comparable, ...]:
    """The likest orders first, cancelled ones left out; three queries whatever their number."""
    rows = (
        Order.objects.exclude(state=Order.State.CANCELLED)
        .order_by("-accepted_at")
        .annotate(
            diameter=F("quote__results__measures__diameter"),
            pitch=F("quote__results__measures__pitch"),
            blades=F("quote__results__measures__blades"),
            timber=F("quote__specification__timber__code"),
            timber_name=F("quote__specification__timber__name"),
            use=F("quote__specification__use"),
            cost=F("quote__cost_minor"),
        )
        .values(
            "pk", "number", "title", "accepted_at", "quantity", "net", "currency", "cost", "diameter",
            "pitch", "blades", "timber", "timber_name", "use",
        )[:NEWEST]
    )  # fmt: skip
    ranked = sorted(rows, key=lambda row: (distance(row, specification, measures), -row["pk"]))[:most]
    minutes = minutes_of([row["pk"] for row in ranked])
    return tuple(_comparable(row, *minutes[row["pk"]]) for row in ranked)


def distance(row: Mapping[str, Any], specification: Specification, measures: Measures) -> float:
    """How unlike an order is what is asked for now; 0 for the same size, blades, timber and use."""
    sizes = ((row["diameter"], measures.diameter), (row["pitch"], measures.pitch))
    apart = math.fsum(abs(math.log(old / new)) for old, new in sizes if old and new)
    others = (
        OTHER_BLADES * bool(row["blades"] != measures.blades),
        OTHER_TIMBER * bool(row["timber"] != specification.timber.code),
        OTHER_USE * bool(row["use"] != specification.use.value),
    )
    return SIZE * apart + sum(others)


def minutes_of(orders: Iterable[int]) -> dict[int, tuple[int, int | None, dict[str, int]]]:
    """By order: minutes estimated for one propeller, recorded on its finished propellers, and those by stage.

    Work done again is left out: it is no part of an estimate.
    """
    keys = list(orders)
    spent = Sum("records__minutes", filter=Q(records__redo=False))
    rows = (
        Stage.objects.filter(propeller__order__in=keys)
        .exclude(propeller__state=Propeller.State.SCRAPPED)
        .annotate(spent=spent)
        .values_list("propeller__order", "propeller", "key", "state", "minutes", "spent")
    )
    built: dict[int, dict[int, list[tuple[str, str, int, int]]]] = {key: {} for key in keys}
    for order, propeller, key, state, minutes, recorded in rows:
        built[order].setdefault(propeller, []).append((key, state, minutes, recorded or 0))
    return {order: _of_propellers(list(of.values())) for order, of in built.items()}


def _of_propellers(
    propellers: list[list[tuple[str, str, int, int]]],
) -> tuple[int, int | None, dict[str, int]]:
    ended = (Stage.State.DONE, Stage.State.LEFT_OUT)
    done = [p for p in propellers if all(state in ended for _, state, _, _ in p)]
    estimated = round(sum(m for p in propellers for _, _, m, _ in p) / len(propellers)) if propellers else 0
    if not done:
        return estimated, None, {}
    by_stage: dict[str, list[int]] = {}
    for propeller in done:
        for key, _, _, recorded in propeller:
            by_stage.setdefault(key, []).append(recorded)
    typical = {key: round(sum(found) / len(done)) for key, found in by_stage.items()}
    return estimated, round(sum(sum(found) for found in by_stage.values()) / len(done)), typical


def typical_minutes(comparables: Iterable[Comparable]) -> dict[str, int]:
    """By stage, the middle of what the comparable builds that are done have taken."""
    found: dict[str, list[int]] = {}
    for one in comparables:
        for key, minutes in one.by_stage.items():
            found.setdefault(key, []).append(minutes)
    return {key: round(median(values)) for key, values in found.items()}


def _comparable(
    row: Mapping[str, Any], estimated: int, recorded: int | None, by_stage: Mapping[str, int]
) -> Comparable:
    net = Money.from_minor(row["net"], row["currency"])
    return Comparable(
        number=row["number"],
        title=row["title"],
        accepted_on=timezone.localdate(row["accepted_at"]),
        timber=row["timber_name"] or row["timber"] or "",
        diameter=row["diameter"],
        pitch=row["pitch"],
        quantity=row["quantity"],
        net=net.times(Decimal(1) / row["quantity"]),
        margin=round_half_up(Decimal(row["net"] - row["cost"]) / row["net"], 3) if row["net"] else None,
        estimated=estimated,
        recorded=recorded,
        by_stage=by_stage,
    )
