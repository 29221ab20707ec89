"""What recorded minutes teach: bias by stage, timber and size, and coefficients to propose for the next draft.

The logarithm of recorded over estimated minutes is taken as a sum of a stage's, a timber's and a size's effect.
Effects are fitted in turn until they settle (backfitting), each as a Huber location (Huber 1964, k = 1.345), so that
one stage recorded wrongly does not move a coefficient, and each drawn towards no effect by how little is known of it
(the posterior mean under a normal prior). Nothing here changes a price book: the owner drafts from the proposals.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from statistics import median

from quoting.pricing.book import PriceBook
from quoting.pricing.money import round_half_up

HUBER = 1.345
PRIOR_SPREAD = 0.25
"""Before anything is recorded a coefficient is taken to be right to about a quarter (standard deviation, log scale)."""
USUAL_SCATTER = 0.35
"""Scatter of one record before there are enough to tell: common practice, no source."""
ENOUGH = 5
"""Fewer records than this propose nothing."""

SIZES = ((1.5, "under 1.5 m"), (1.8, "1.5 to 1.8 m"), (2.1, "1.8 to 2.1 m"), (math.inf, "2.1 m and over"))

KEYS: dict[str, tuple[str, ...]] = {
    "condition": ("condition.setup", "condition.per_board_foot"),
    "laminate": ("laminate.setup", "laminate.per_lamination", "laminate.per_glue_area"),
    "rest": ("rest.look",),
    "bore": ("bore.setup", "bore.per_centimetre"),
    "rough-carve": ("carve.setup", "carve.per_litre"),
    "shape-boss": ("boss.saw", "boss.sander", "boss.blend", "boss.rim", "boss.wide", "boss.thin"),
    "trim-tips": ("tips.per_blade",),
    "sand": ("sand.setup", "sand.belt", "sand.orbital"),
    "track": ("track.setup", "track.per_blade"),
    "balance": ("balance.setup", "balance.trials"),
    "drill": ("drill.setup", "drill.per_hole", "drill.per_counterbore"),
    "stamp": ("stamp.minutes",),
    "edge-guard": ("guard.setup", "guard.per_metre"),
    "varnish": ("varnish.setup", "varnish.brush", "varnish.scuff"),
    "seal-holes": ("seal.setup", "seal.per_hole"),
    "decal": ("decal.setup", "decal.per_decal"),
    "final-balance": ("final.setup", "final.trials"),
    "inspect": ("inspect.setup", "inspect.per_blade"),
    "crate": ("crate.setup", "crate.per_m2"),
}
"""The coefficients that a stage's minutes scale with: multiplying them all multiplies the minutes."""

BALANCING = frozenset({"balance", "final-balance"})
SHAPING = frozenset({"rough-carve", "shape-boss", "sand"})


@dataclass(frozen=True, slots=True)
class Record:
    """Minutes recorded at one stage of one propeller against the estimate; `diameter` in m."""

    stage: str
    timber: str
    diameter: float
    estimated: int
    recorded: int


@dataclass(frozen=True, slots=True)
class Bias:
    """How recorded compares with estimated minutes in one group, the other groupings allowed for.

    `by` is "stage", "timber" or "size". `typical` is the robust ratio in the records alone, `ratio` the same drawn towards
    1 by how little is known, `low` and `high` its 95 % range. 1.2 means a fifth longer than estimated.
    """

    by: str
    group: str
    count: int
    typical: float
    ratio: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Proposal:
    """A coefficient for the next draft: the price-book key, today's and the proposed value, and why."""

    key: str
    value: Decimal
    proposed: Decimal
    count: int
    why: str


@dataclass(frozen=True, slots=True)
class WorkabilityHint:
    """A timber that carves and sands otherwise than its catalogue workability says; the catalogue is the owner's."""

    timber: str
    ratio: float
    count: int


@dataclass(frozen=True, slots=True)
class Lessons:
    """Everything the records teach; `left_out` counts records without minutes on either side."""

    biases: tuple[Bias, ...]
    proposals: tuple[Proposal, ...]
    workability: tuple[WorkabilityHint, ...]
    left_out: int


@dataclass(frozen=True, slots=True)
class _Effect:
    """A group's effect on the log scale: robust location, shrunk location and its standard deviation."""

    count: int
    location: float
    shrunk: float
    deviation: float

    @property
    def ratio(self) -> float:
        return math.exp(self.shrunk)


_Grouping = Callable[[Record], str]


def size_of(diameter: float) -> str:
    """The size class of a diameter in m."""
    return next(name for limit, name in SIZES if diameter < limit)


def lessons(records: Iterable[Record], book: PriceBook) -> Lessons:
    """Bias by stage, timber and size, and proposed coefficients; the order of the records does not matter.

    Raises ValueError at a record of negative minutes or a diameter that is not positive.
    """
    given = list(records)
    for record in given:
        if record.estimated < 0 or record.recorded < 0 or not record.diameter > 0:
            raise ValueError(f"a record of {record.stage} has negative minutes or no diameter")
    used = sorted((r for r in given if r.estimated and r.recorded), key=_sorting)
    groupings: dict[str, _Grouping] = {
        "stage": lambda r: r.stage,
        "timber": lambda r: r.timber,
        "size": lambda r: size_of(r.diameter),
    }
    effects = _fit(used, groupings)
    biases = tuple(_bias(by, g, effect) for by in groupings for g, effect in sorted(effects[by].items()))
    proposals = (*_stage_proposals(effects["stage"], book), *_balance_proposals(used, effects, book))
    return Lessons(biases, proposals, _workability(used, effects), len(given) - len(used))


def _sorting(record: Record) -> tuple[str, str, float, int, int]:
    return record.stage, record.timber, record.diameter, record.estimated, record.recorded


def _fit(records: Sequence[Record], groupings: dict[str, _Grouping]) -> dict[str, dict[str, _Effect]]:
    effects: dict[str, dict[str, _Effect]] = {by: {} for by in groupings}
    logs = [math.log(r.recorded / r.estimated) for r in records]
    names = {by: [group(r) for r in records] for by, group in groupings.items()}
    for _ in range(30):
        before = {(by, g): e.shrunk for by, found in effects.items() for g, e in found.items()}
        for by in groupings:
            others = [o for o in groupings if o != by]
            rest = [
                log - sum(effects[o][names[o][n]].shrunk for o in others if names[o][n] in effects[o])
                for n, log in enumerate(logs)
            ]
            effects[by] = _by_group(names[by], rest)
        after = {(by, g): e.shrunk for by, found in effects.items() for g, e in found.items()}
        if before.keys() == after.keys() and all(abs(after[k] - before[k]) < 1e-6 for k in after):
            break
    return effects


def _by_group(names: Sequence[str], values: Sequence[float]) -> dict[str, _Effect]:
    grouped: dict[str, list[float]] = {}
    for name, value in zip(names, values, strict=True):
        grouped.setdefault(name, []).append(value)
    return {name: _effect(found) for name, found in grouped.items()}


def _effect(values: Sequence[float]) -> _Effect:
    location, scatter = huber(values)
    error = scatter**2 / len(values)
    weight = PRIOR_SPREAD**2 / (PRIOR_SPREAD**2 + error)
    return _Effect(len(values), location, weight * location, math.sqrt(weight * error))


def huber(values: Sequence[float]) -> tuple[float, float]:
    """Huber's robust location and the scatter it was found with, by reweighting from the median.

    Scatter is 1.4826 times the median absolute deviation, mixed with the usual scatter while records are few.
    Raises ValueError for no values.
    """
    if not values:
        raise ValueError("no records to learn from")
    location = median(values)
    spread = 1.4826 * median(abs(v - location) for v in values)
    few = ENOUGH / (ENOUGH + len(values) - 1)
    scatter = math.sqrt((1 - few) * spread**2 + few * USUAL_SCATTER**2)
    for _ in range(50):
        weights = [
            1.0 if abs(v - location) <= HUBER * scatter else HUBER * scatter / abs(v - location)
            for v in values
        ]
        moved = math.fsum(w * v for w, v in zip(weights, values, strict=True)) / math.fsum(weights)
        if abs(moved - location) < 1e-9:
            break
        location = moved
    return location, scatter


def _bias(by: str, group: str, effect: _Effect) -> Bias:
    low, high = (math.exp(effect.shrunk + side * 1.96 * effect.deviation) for side in (-1, 1))
    return Bias(by, group, effect.count, math.exp(effect.location), effect.ratio, low, high)


def _stage_proposals(effects: dict[str, _Effect], book: PriceBook) -> list[Proposal]:
    found = []
    for stage, effect in sorted(effects.items()):
        if effect.count < ENOUGH:
            continue
        why = f"{stage} takes {effect.ratio:.2f} times its estimate in {effect.count} records"
        found += [p for key in KEYS.get(stage, ()) if (p := _proposal(key, effect, book, why))]
    return found


def _balance_proposals(
    records: Sequence[Record], effects: dict[str, dict[str, _Effect]], book: PriceBook
) -> list[Proposal]:
    """Trials by timber, from the balancing stages alone."""
    found = []
    for timber, effect in _timbers(records, effects, BALANCING).items():
        key = f"balance.timber.{timber}"
        why = f"{timber} takes {effect.ratio:.2f} times its estimate to balance in {effect.count} records"
        if effect.count >= ENOUGH and (
            p := _proposal(book.key_for("balance.timber", timber), effect, book, why)
        ):
            found.append(Proposal(key, p.value, p.proposed, p.count, p.why))
    return found


def _workability(
    records: Sequence[Record], effects: dict[str, dict[str, _Effect]]
) -> tuple[WorkabilityHint, ...]:
    timbers = _timbers(records, effects, SHAPING)
    return tuple(WorkabilityHint(t, e.ratio, e.count) for t, e in timbers.items() if e.count >= ENOUGH)


def _timbers(
    records: Sequence[Record], effects: dict[str, dict[str, _Effect]], stages: frozenset[str]
) -> dict[str, _Effect]:
    """Effect of each timber within some stages, what is due to stage and size taken off."""
    chosen = [r for r in records if r.stage in stages]
    rest = [
        math.log(r.recorded / r.estimated)
        - effects["stage"][r.stage].shrunk
        - effects["size"][size_of(r.diameter)].shrunk
        for r in chosen
    ]
    return dict(sorted(_by_group([r.timber for r in chosen], rest).items()))


def _proposal(key: str, effect: _Effect, book: PriceBook, why: str) -> Proposal | None:
    """The entry times the effect, to three figures, kept within its bounds; None where nothing would change."""
    entry = book.entries[key]
    wanted = entry.value * Decimal(repr(round(effect.ratio, 6)))
    proposed = min(max(_three_figures(wanted), entry.low), entry.high)
    return None if proposed == entry.value else Proposal(key, entry.value, proposed, effect.count, why)


def _three_figures(value: Decimal) -> Decimal:
    return round_half_up(value, max(2 - value.adjusted(), 0)) if value else value
