"""Stored quotes under a draft price book: what would change before it is put in force. Nothing is stored here."""

from collections.abc import Iterable, Iterator
from typing import Any

from quoting.estimate import Estimate
from quoting.models import Quote
from quoting.pricing.book import PriceBook
from quoting.pricing.lines import Price, StageMinutes
from quoting.pricing.reprice import Difference, Quoted, reprice
from quoting.pricing.terms import Terms
from quoting.propeller.measures import Measures
from quoting.services.quotes import specification_of
from quoting.services.serial import structured


def quoted(quote: Quote) -> Quoted | None:
    """A stored quote as pricing needs it, minutes and price without their workings; None for one without terms."""
    stored = quote.results
    if not stored.get("terms"):
        return None
    return Quoted(
        quote.reference,
        structured(stored["measures"], Measures),
        specification_of(quote),
        tuple(_minutes(stage) for stage in stored["work"]),
        structured(stored["terms"], Terms),
        _totals(quote),
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


def _minutes(stage: dict[str, Any]) -> StageMinutes:
    return StageMinutes(
        stage["stage"], stage["label"], stage["skill"], stage["minutes"], stage["wait_minutes"]
    )


def _totals(quote: Quote) -> Price:
    """The totals alone: a change and a margin need no lines, and reading a thousand quotes' lines takes seconds."""
    totals = (quote.net, quote.tax, quote.gross, quote.deposit, quote.balance, quote.cost)
    return Price(quote.currency, (), (), *totals, quote.results["price_book"])
