"""The one entry from a specification to its instant answer: is it sound, what does it cost, when can it be ready.

Pure: the same inputs give the same estimate; nothing here reads a clock, a file or a table.
"""

from dataclasses import dataclass
from datetime import date

from quoting.leadtime.outlook import Forecast, Outlook
from quoting.leadtime.promise import forecast_for
from quoting.pricing.book import PriceBook
from quoting.pricing.lines import Price, StageMinutes
from quoting.pricing.minutes import work_content
from quoting.pricing.price import price
from quoting.pricing.refusal import Refused
from quoting.pricing.terms import Terms
from quoting.pricing.version import PRICING_VERSION
from quoting.pricing.waits import too_cold
from quoting.propeller.assessment import Assessment, assess
from quoting.propeller.finding import Finding, Severity, worst
from quoting.propeller.specification import Specification
from quoting.propeller.version import MODEL_VERSION

USUAL_WAITS = ("deposit", "drawing", "mock-up")
"""What the clock waits on besides the shop, when nothing else is known."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """The instant, not binding answer to one specification on one day.

    `findings` are those of the assessment and of the price. `price` and `forecast` are None while a stop stands
    that the owner has not overridden. `price_book` is the version used, `terms` those of the price.
    """

    assessment: Assessment
    findings: tuple[Finding, ...]
    work: tuple[StageMinutes, ...]
    price: Price | None
    forecast: Forecast | None
    price_book: str
    model_version: str
    as_of: date
    terms: Terms | None = None
    pricing_version: str = PRICING_VERSION

    @property
    def specification(self) -> Specification:
        """The specification with diameter, pitch and boss filled in."""
        return self.assessment.specification

    @property
    def minutes(self) -> int:
        """Bench minutes of one propeller."""
        return sum(stage.minutes for stage in self.work)

    @property
    def is_stopped(self) -> bool:
        """Whether a stop withholds price and date."""
        return self.price is None


def estimate(
    specification: Specification,
    price_book: PriceBook,
    outlook: Outlook,
    terms: Terms,
    *,
    today: date,
    overridden: bool = False,
    rush: bool = False,
    waits_on: tuple[str, ...] = USUAL_WAITS,
    remarks: tuple[Finding, ...] = (),
) -> Estimate:
    """Assess, price and date one specification.

    A stop withholds price and forecast unless `overridden`; a price that the book or the terms cannot give is a
    stop of its own that nothing overrides, and so is a size there is no geometry for. `rush` asks for the place of
    a rush order in the queue. `remarks` are findings of whoever read the input; they come first.
    """
    assessment = assess(specification)
    findings = (*remarks, *assessment.findings)
    resolved = assessment.specification
    work: tuple[StageMinutes, ...] = ()
    priced: Price | None = None
    dated: Forecast | None = None
    if assessment.measures is None:
        return Estimate(assessment, findings, work, priced, dated, price_book.version, MODEL_VERSION, today)
    try:
        work = work_content(assessment.measures, resolved, price_book)
        findings = (*findings, *too_cold(resolved, price_book))
        if overridden or worst(findings) is not Severity.STOP:
            priced = price(assessment.measures, resolved, work, price_book, terms)
            dated = _dated(outlook, work, terms.quantity or resolved.quantity, waits_on, rush=rush)
    except Refused as refused:
        findings = (*findings, refused.finding)
    settled = terms.settled if priced else None
    return Estimate(
        assessment, findings, work, priced, dated, price_book.version, MODEL_VERSION, today, settled
    )


def _dated(
    outlook: Outlook, work: tuple[StageMinutes, ...], quantity: int, waits_on: tuple[str, ...], *, rush: bool
) -> Forecast:
    minutes = sum(stage.minutes for stage in work)
    return forecast_for(outlook, minutes, count=quantity, waits_on=waits_on, rush=rush)
