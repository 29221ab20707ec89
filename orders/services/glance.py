"""Enquiries at a glance for a list: what is wanted, what it would cost, whether a stop stands; read in one query."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Prefetch, QuerySet
from django.db.models.fields.json import KT, KeyTransform

from orders.models import Enquiry
from quoting.models import Quote
from quoting.pricing.money import Money

INCH = 0.0254


@dataclass(frozen=True, slots=True)
class Glance:
    """One enquiry in a line. `title` is "" while no size is settled, `gross` None while a stop withholds the price."""

    enquiry: Enquiry
    title: str
    gross: Money | None
    stops: int
    cautions: int
    quote: Quote | None


def at_a_glance(rows: QuerySet[Enquiry]) -> QuerySet[Enquiry]:
    """The rows with no more of the kept answer than a line shows, and the revisions of their quotes, newest first."""
    quotes = (
        Quote.objects.exclude(state=Quote.State.DRAFTED)
        .select_related("series")
        .defer("typed", "specification", "results")
        .order_by("-revision")
    )
    return (
        rows.select_related("customer", "series")
        .prefetch_related(Prefetch("series__revisions", quotes, to_attr="sent_first"))
        .defer("estimate", "specification")
        .annotate(
            shown_diameter=KT("estimate__specification__diameter"),
            shown_pitch=KT("estimate__specification__pitch"),
            shown_blades=KT("estimate__specification__blades"),
            shown_timber=KT("estimate__specification__timber__name"),
            shown_gross=KT("estimate__price__gross__amount"),
            shown_currency=KT("estimate__price__gross__currency"),
            shown_findings=KeyTransform("findings", "estimate"),
        )
    )


def glance_of(row: Any) -> Glance:
    """A row of `at_a_glance` in a line."""
    severities = [finding["severity"] for finding in row.shown_findings or ()]
    sent = row.series.sent_first if row.series else []
    return Glance(
        enquiry=row,
        title=_title(row),
        gross=Money(Decimal(row.shown_gross), row.shown_currency) if row.shown_gross else None,
        stops=severities.count("stop"),
        cautions=severities.count("caution"),
        quote=sent[0] if sent else None,
    )


def _title(row: Any) -> str:
    if not row.shown_diameter or not row.shown_pitch:
        return ""
    inches = " x ".join(f"{float(length) / INCH:.4g}" for length in (row.shown_diameter, row.shown_pitch))
    return f"{inches}, {row.shown_blades} blades, {row.shown_timber}"
