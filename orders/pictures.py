"""The very propeller of a resolved specification as a picture on a page, and the forecast as a curve."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

from django.utils import timezone

from orders.models import Approval, Order, Workshop
from quoting.leadtime.outlook import Forecast
from quoting.models import Quote
from quoting.propeller.blade import Blade
from quoting.propeller.drawing.cells import TitleBlock
from quoting.propeller.drawing.lettering import Units
from quoting.propeller.drawing.plan import Wood, propeller_svg
from quoting.propeller.drawing.readiness import range_svg
from quoting.propeller.specification import Specification
from quoting.services.engineering import Engineering, engineering_stored
from quoting.services.quotes import results_of, specification_of


@dataclass(frozen=True, slots=True)
class Drawing:
    """The plan to scale, wide and for a phone; both empty when the size is not settled."""

    wide: str = ""
    compact: str = ""


def blade_of(specification: Specification) -> Blade | None:
    """The blade of a specification whose diameter and pitch are settled."""
    if specification.diameter is None or specification.pitch is None:
        return None
    return Blade.wooden(
        diameter=specification.diameter,
        pitch=specification.pitch,
        blades=specification.blades,
        hand=specification.hand,
        tip_form=specification.tip_form,
        chord_factor=specification.chord_factor,
        pitch_station=specification.pitch_station,
    )


def plan_of(specification: Specification, units: str, name: str = "plan") -> Drawing:
    """The plan of a resolved specification in its timber."""
    blade = blade_of(specification)
    if blade is None or not specification.boss_diameter or not specification.boss_thickness:
        return Drawing()
    wood = Wood(specification.timber.colour, specification.lamination_thickness)

    def drawn(*, compact: bool) -> str:
        return propeller_svg(
            blade,
            specification.boss_diameter or 0.0,
            specification.boss_thickness or 0.0,
            specification.hub,
            hand=specification.hand,
            position=specification.position,
            clocking=specification.clocking,
            units=unit_of(units),
            wood=wood,
            compact=compact,
            name=f"{name}-phone" if compact else name,
        )

    return Drawing(drawn(compact=False), drawn(compact=True))


def unit_of(units: str) -> Units:
    chosen: Literal["in", "mm"] = "mm" if units == "mm" else "in"
    return chosen


def title_block(number: str, revision: str, state: str, as_of: date) -> TitleBlock:
    """The block of a drawing of this workshop."""
    shop = Workshop.objects.values_list("name", flat=True).first()
    return TitleBlock(shop or "", number, revision, state, as_of)


def block_of(quote: Quote) -> TitleBlock:
    """The block of a quote's drawing; once sent it stays the same."""
    state = "drafted" if quote.issued_at is None else "sent"
    day = timezone.localdate(quote.issued_at or quote.drafted_at)
    return title_block(quote.series.number, str(quote.revision), state, day)


def engineering_of_quote(quote: Quote, units: str, *, state: str = "") -> Engineering | None:
    """Drawing, stations and performance of a stored quote; `state` stands in its block instead of the quote's."""
    block = block_of(quote)
    if state:
        block = replace(block, state=state)
    return engineering_stored(specification_of(quote), unit_of(units), block, results_of(quote).model_version)


def state_of_drawing(order: Order) -> str:
    """How far an order's drawing is: shown, approved, or to be drawn anew."""
    latest = order.approvals.filter(kind=Approval.Kind.DRAWING).order_by("-revision").first()
    return "sent" if latest is None else {"asked": "for approval"}.get(latest.state, latest.state)


def range_of(forecast: Forecast | None, promise: date | None = None) -> str:
    """The forecast as a curve over the days."""
    if forecast is None:
        return ""
    dates = (forecast.likely_by, forecast.plan_on, forecast.nineteen_in_twenty)
    as_of = timezone.localdate(forecast.as_of)
    if not as_of <= dates[0] <= dates[1] <= dates[2]:
        return ""
    return range_svg(*dates, as_of, promise=promise)
