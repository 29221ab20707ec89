"""Stored quotes under a draft price book: what would change before it is put in force. Nothing is stored here."""

from collections.abc import Iterable, Iterator

from quoting.estimate import Estimate
from quoting.models import Quote
from quoting.pricing.book import PriceBook
from quoting.pricing.reprice import Difference, Quoted, reprice
from quoting.services.quotes import results_of, specification_of


def quoted(quote: Quote) -> Quoted | None:
    """A stored quote as pricing needs it; None for one that was stored without its terms."""
    results = results_of(quote)
    if results.terms is None:
        return None
    return Quoted(
        quote.reference,
        results.measures,
        specification_of(quote),
        results.work,
        results.terms,
        results.price,
    )


def quoted_now(reference: str, made: Estimate) -> Quoted | None:
    """An open enquiry's estimate as pricing needs it; None while a stop withholds its price."""
    if made.price is None or made.terms is None or made.assessment.measures is None:
        return None
    return Quoted(reference, made.assessment.measures, made.specification, made.work, made.terms, made.price)


def reprice_quotes(quotes: Iterable[Quote], draft: PriceBook) -> Iterator[Difference]:
    """Differences one by one, so that a job can say how far it is; quotes stored without terms are left out."""
    for quote in quotes:
        stored = quoted(quote)
        if stored is not None:
            yield reprice(stored, draft)
