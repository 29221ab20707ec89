"""What the accepted quote of an order says: figures for the bench, lines for the invoice, cost for the books."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from orders.models import Order, Propeller
from orders.services.measurements import BuildFigures
from quoting.pricing.lines import Category, StageMinutes
from quoting.propeller.balance import permissible
from quoting.propeller.figure import Figure
from quoting.propeller.measures import Measures
from quoting.propeller.specification import Specification, Use
from quoting.services.quotes import Results, results_of, specification_of

MATERIALS = frozenset({Category.MATERIAL, Category.OPTION, Category.CRATE})
CARRIED = frozenset({Category.FREIGHT})
MM = 1000.0
GRAM_MM = 1e6  # g·mm in a kg·m


@dataclass(frozen=True, slots=True)
class BuildCost:
    """What the build costs the shop, in minor units: bought materials, and labour with overhead."""

    materials: int
    labour: int


def results(order: Order) -> Results:
    """The results the customer accepted."""
    return results_of(order.quote)


def work_content(order: Order) -> tuple[StageMinutes, ...]:
    """Stages of one propeller in build order."""
    return results(order).work


def build_figures(propeller: Propeller) -> BuildFigures:
    """The figures the bench works to, in bench units, read from the accepted specification and measures."""
    order = propeller.order
    specification, measures = specification_of(order.quote), results(order).measures
    hub = specification.hub
    return BuildFigures(
        diameter=measures.diameter * MM,
        boss_thickness=measures.boss_thickness * MM,
        bore=_mm(hub.pilot),
        bolt_circle=_mm(hub.circle),
        hole=_mm(hub.hole),
        bolts=hub.bolts,
        coats=specification.finish.coats,
        lowest_glue_temperature=specification.glue.lowest_temperature.value,
        unbalance_limit=unbalance_limit(specification, measures),
        serial=propeller.serial or "",
        display_only=order.display_only,
    )


def unbalance_limit(specification: Specification, measures: Measures) -> float | None:
    """Permissible residual unbalance in g·mm: by ISO 21940-11 at the usual grade, or the engine maker's limit if less.

    None when the engine's speed is unknown and its maker gives no limit.
    """
    engine = specification.engine
    maker = engine.unbalance_limit.value if engine and engine.unbalance_limit else None
    if engine is None or engine.rated_speed is None:
        return None if maker is None else round(maker * GRAM_MM, 1)
    turns = engine.rated_speed.value / (engine.gear_ratio.value if engine.gear_ratio else 1.0)
    limit = permissible(measures.mass, turns, engine_limit=maker)
    return round(limit.unbalance * GRAM_MM, 1)


def build_cost(order: Order) -> BuildCost:
    """Cost of the build by the quote's lines; freight is bought at dispatch and not part of it."""
    materials = labour = 0
    for line in results(order).price.lines:
        if line.category in CARRIED:
            continue
        if line.category in MATERIALS:
            materials += line.cost.minor
        else:
            labour += line.cost.minor
    return BuildCost(materials, labour)


def invoice_lines(order: Order) -> list[dict[str, Any]]:
    """The accepted price lines as an invoice carries them: net in minor units."""
    return [
        {
            "key": line.key,
            "category": line.category.value,
            "label": line.label,
            "quantity": str(line.quantity),
            "unit": line.unit,
            "rate": str(line.rate),
            "net": line.net.minor,
            "tax_code": line.tax_code,
        }
        for line in results(order).price.lines
    ]


def tax_percents(order: Order) -> dict[str, tuple[str, Decimal]]:
    """Label and percent by tax code, as accepted."""
    return {row.code: (row.label, row.percent) for row in results(order).price.taxes}


def title_of(specification: Specification, measures: Measures) -> str:
    """A propeller in a few words: "72 x 44, 2 blades, Hard maple"."""
    inches = (f"{length / 0.0254:.4g}" for length in (measures.diameter, measures.pitch))
    words = f"{' x '.join(inches)}, {measures.blades} blades, {specification.timber.name}"
    return f"{words}, display only" if specification.use is Use.DISPLAY else words


def _mm(figure: Figure | None) -> float | None:
    return None if figure is None else figure.value * MM
