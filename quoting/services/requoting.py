"""Stored quotes worked again: for ever identical from what is stored, or each difference with its cause.

Nothing is stored here.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import QuerySet

from quoting.models import Quote
from quoting.pricing.minutes import work_content
from quoting.pricing.price import price
from quoting.pricing.refusal import Refused
from quoting.pricing.requote import (
    Deviation,
    Versions,
    compare_measures,
    compare_prices,
    compare_work,
    rework,
)
from quoting.pricing.version import PRICING_VERSION
from quoting.propeller.assessment import assess
from quoting.propeller.version import MODEL_VERSION
from quoting.services.pricebook import book_of
from quoting.services.quotes import Results, is_unaltered, results_of, specification_of

TOTALS = ("net", "tax", "gross", "deposit", "balance", "cost")


@dataclass(frozen=True, slots=True)
class Requoted:
    """One quote worked again: what came out otherwise, nothing when all is identical."""

    reference: str
    deviations: tuple[Deviation, ...]

    @property
    def is_identical(self) -> bool:
        return not self.deviations

    @property
    def is_explained(self) -> bool:
        """Whether every difference has a known cause."""
        return all(d.is_explained for d in self.deviations)


def sent_quotes(number: str = "") -> QuerySet[Quote]:
    """Every revision that was ever sent, of one number or of all."""
    quotes = Quote.objects.exclude(state=Quote.State.DRAFTED).select_related("series", "price_book")
    return quotes.filter(series__number=number) if number else quotes


def requote(quote: Quote) -> Requoted:
    """Work one quote again: the seal, the stored lines, then geometry, minutes and price computed anew."""
    results = results_of(quote)
    return Requoted(
        quote.reference,
        (*_sealed(quote), *_totals(quote, results), *rework(results.price), *_anew(quote, results)),
    )


def _sealed(quote: Quote) -> Iterator[Deviation]:
    if not is_unaltered(quote):
        yield Deviation("seal", quote.content_hash or "none", "the content has another hash")


def _totals(quote: Quote, results: Results) -> Iterator[Deviation]:
    """The amounts in columns against those of the stored price."""
    for name in TOTALS:
        column, stored = getattr(quote, name), getattr(results.price, name)
        if column != stored:
            yield Deviation(f"{name} in its column", str(stored), str(column))


def _anew(quote: Quote, results: Results) -> Iterator[Deviation]:
    then = Versions(results.model_version, results.pricing_version)
    now = Versions(MODEL_VERSION, PRICING_VERSION)
    assessment = assess(specification_of(quote))
    if assessment.measures is None:
        cause = "" if then.model == now.model else f"propeller model {then.model}, now {now.model}"
        yield Deviation("geometry", "computed", "none is computed any more", cause)
        return
    measured = compare_measures(results.measures, assessment.measures, then, now)
    yield from measured
    book = book_of(quote.price_book)
    try:
        work = work_content(assessment.measures, assessment.specification, book)
        worked = compare_work(results.work, work, then, now, measures_differ=_explained(measured))
        yield from worked
        if results.terms is not None:
            again = price(assessment.measures, assessment.specification, work, book, results.terms)
            differ = _explained((*measured, *worked))
            yield from compare_prices(results.price, again, then, now, work_differs=differ)
    except Refused as refused:
        yield Deviation("price", "computed", str(refused))


def _explained(deviations: tuple[Deviation, ...]) -> bool:
    """Whether there are differences and all have a cause, so that what follows from them has one too."""
    return bool(deviations) and all(d.is_explained for d in deviations)
