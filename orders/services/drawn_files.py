"""Drawing, templates, solid and mock-up of a quote, made by the worker and filed once each.

Imports the typesetter and the solid modeller; only the worker and commands import this file.
"""

from collections.abc import Callable, Iterator
from typing import Any

from orders.models import Document
from orders.pictures import block_of
from orders.services.drawings import VARIANTS, subject
from orders.services.filing import filed, keep
from orders.services.outbox import Hopeless
from quoting.models import Quote
from quoting.propeller.assessment import assess
from quoting.services.drawing_files import Drawn, NothingToDrawError
from quoting.services.quotes import specification_of

K = Document.Kind
PAPERS = {"A4": "a4", "Letter": "us-letter"}
Maker = Callable[[Drawn, str], bytes]


def _stations(drawn: Drawn, variant: str) -> bytes:
    units, paper = variant.split(", ")
    return drawn.station_pdf(PAPERS[paper], "mm" if units == "mm" else "in")


def _drill(drawn: Drawn, variant: str) -> bytes:
    metric = drawn.assessment.specification.hub.entered_unit == "mm"
    return drawn.drill_pdf(PAPERS[variant], "mm" if metric else "in")


MAKERS: dict[str, Maker] = {
    K.DRAWING: lambda drawn, variant: drawn.drawing_pdf("mm" if variant == "mm" else "in"),
    K.DRILL_TEMPLATE: _drill,
    K.DRILL_DXF: lambda drawn, _: drawn.drill_dxf(),
    K.STATION_TEMPLATE: _stations,
    K.STATION_DXF: lambda drawn, variant: drawn.station_dxf("mm" if variant == "mm" else "in"),
    K.SOLID: lambda drawn, _: drawn.glb(),
    K.MOCK_UP: lambda drawn, _: drawn.mock_up_png(),
}
FROM_PATTERN = (K.DRILL_TEMPLATE, K.DRILL_DXF)
"""Made from the hub pattern only: left out where nothing may be drilled from it, and the page says why."""


def make(payload: dict[str, Any]) -> None:
    """Job: draw everything of a quote that is not filed yet."""
    quote = Quote.objects.select_related("series").filter(pk=payload["quote"]).first()
    if quote is None:
        raise Hopeless(f"quote {payload['quote']} is not there any more")
    draw(quote, *VARIANTS)


def draw(quote: Quote, *kinds: str) -> None:
    """File what is wanted of the kinds; what is filed already is left as it is."""
    wanted = list(_missing(quote, kinds))
    if not wanted:
        return
    try:
        drawn = Drawn(assess(specification_of(quote)), block_of(quote))
    except NothingToDrawError as refused:
        raise Hopeless(str(refused)) from None
    without = _without_pattern(drawn)
    for kind, variant in wanted:
        if kind in FROM_PATTERN and without:
            continue
        keep(kind, subject(quote, variant), MAKERS[kind](drawn, variant), quote=quote)


def _missing(quote: Quote, kinds: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    for kind in kinds:
        for variant in VARIANTS[kind]:
            if filed(kind, subject(quote, variant)) is None:
                yield kind, variant


def _without_pattern(drawn: Drawn) -> str:
    try:
        drawn.pattern()
    except ValueError as refused:
        return str(refused)
    return ""
