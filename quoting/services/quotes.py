"""Quotes as stored results: drafted from an estimate, complete in themselves, sealed by a hash of what is shown.

Sending, revising, accepting and declining are services of the orders application; these functions assume its transaction.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import lru_cache
from typing import Any

from django.db import transaction
from django.db.models import Max

from quoting.estimate import Estimate
from quoting.leadtime.outlook import Forecast
from quoting.models import PriceBookVersion, Quote, QuoteSeries
from quoting.pricing.lines import Price, StageMinutes
from quoting.pricing.terms import Terms
from quoting.propeller.finding import Finding
from quoting.propeller.measures import Measures
from quoting.propeller.specification import Specification
from quoting.services.numbering import take_number
from quoting.services.serial import digest, structured, unstructured


class NothingToQuote(ValueError):
    """An estimate without a price: a stop stands that nobody has overridden."""


@dataclass(frozen=True, slots=True)
class Results:
    """What a quote stands on, as stored: enough to print, explain and check it without the catalogue."""

    measures: Measures
    work: tuple[StageMinutes, ...]
    price: Price
    forecast: Forecast | None
    findings: tuple[Finding, ...]
    price_book: str
    model_version: str
    as_of: date
    terms: Terms | None = None
    pricing_version: str = ""


def new_series(today: date) -> QuoteSeries:
    """A series with the next number of the year, such as Q-2026-0012; gapless."""
    number = take_number(f"quote {today.year}")
    return QuoteSeries.objects.create(number=f"Q-{today.year}-{number:04d}")


@transaction.atomic
def draft_quote(
    estimate: Estimate,
    *,
    typed: Mapping[str, Any],
    today: date,
    series: QuoteSeries | None = None,
    findings: tuple[Finding, ...] | None = None,
    override_reason: str = "",
    message: str = "",
    promised_for: date | None = None,
) -> Quote:
    """Store an estimate as the next revision of a series, or the first of a new one.

    `findings` are those shown, if more than the estimate's own. The promise is the forecast's 80 % point unless the
    owner sets another. Raises NothingToQuote for an estimate without a price.
    """
    measures = estimate.assessment.measures
    if estimate.price is None or measures is None:
        raise NothingToQuote("a stop stands that nobody has overridden")
    price = estimate.price
    series = series or new_series(today)
    results = Results(
        measures=measures,
        work=estimate.work,
        price=price,
        forecast=estimate.forecast,
        findings=estimate.findings if findings is None else findings,
        price_book=estimate.price_book,
        model_version=estimate.model_version,
        as_of=estimate.as_of,
        terms=estimate.terms,
        pricing_version=estimate.pricing_version,
    )
    return Quote.objects.create(
        series=series,
        revision=_next_revision(series),
        typed=unstructured(dict(typed)),
        specification=unstructured(estimate.specification),
        results=unstructured(results),
        overridden=bool(override_reason),
        override_reason=override_reason,
        message=message,
        currency=price.currency,
        net_minor=price.net.minor,
        tax_minor=price.tax.minor,
        gross_minor=price.gross.minor,
        deposit_minor=price.deposit.minor,
        balance_minor=price.balance.minor,
        cost_minor=price.cost.minor,
        price_book=PriceBookVersion.objects.get(version=estimate.price_book),
        model_version=estimate.model_version,
        plan_version=estimate.forecast.plan_version if estimate.forecast else "",
        promised_for=promised_for or (estimate.forecast.plan_on if estimate.forecast else None),
    )


def results_of(quote: Quote) -> Results:
    """The stored results as frozen values; those of a sealed quote cannot change and are read once per process."""
    if quote.content_hash:
        return _sealed_results(quote.pk, quote.content_hash)
    return structured(quote.results, Results)


def specification_of(quote: Quote) -> Specification:
    """The stored specification as frozen values, catalogue figures as they were; read once when sealed."""
    if quote.content_hash:
        return _sealed_specification(quote.pk, quote.content_hash)
    return structured(quote.specification, Specification)


@lru_cache(maxsize=64)
def _sealed_results(pk: int, _content_hash: str) -> Results:
    return structured(Quote.objects.values_list("results", flat=True).get(pk=pk), Results)


@lru_cache(maxsize=64)
def _sealed_specification(pk: int, _content_hash: str) -> Specification:
    return structured(Quote.objects.values_list("specification", flat=True).get(pk=pk), Specification)


def content_hash(quote: Quote, *, issued_at: datetime, expires_at: datetime, terms_version: str) -> str:
    """SHA-256 of everything the customer is shown: acceptance is bound to it."""
    return digest(
        {
            "number": quote.series.number,
            "revision": quote.revision,
            "specification": quote.specification,
            "results": quote.results,
            "amounts": [
                quote.currency,
                quote.net_minor,
                quote.tax_minor,
                quote.gross_minor,
                quote.deposit_minor,
                quote.balance_minor,
            ],
            "override_reason": quote.override_reason,
            "message": quote.message,
            "promised_for": quote.promised_for.isoformat() if quote.promised_for else None,
            "issued_at": issued_at.astimezone(UTC).isoformat(),
            "expires_at": expires_at.astimezone(UTC).isoformat(),
            "terms": terms_version,
        }
    )


def is_unaltered(quote: Quote) -> bool:
    """Whether a sent quote still has the content that was sealed."""
    if quote.issued_at is None or quote.expires_at is None:
        return False
    sealed = content_hash(
        quote, issued_at=quote.issued_at, expires_at=quote.expires_at, terms_version=quote.terms_version
    )
    return sealed == quote.content_hash


def _next_revision(series: QuoteSeries) -> int:
    QuoteSeries.objects.select_for_update().get(pk=series.pk)
    return (series.revisions.aggregate(last=Max("revision"))["last"] or 0) + 1
