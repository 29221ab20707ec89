"""An instant answer as it is kept with an enquiry, and read again."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from quoting.leadtime.outlook import Forecast
from quoting.pricing.lines import Price
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.specification import Specification
from quoting.services.estimating import Answer
from quoting.services.serial import structured, unstructured

RANK = {Severity.STOP: 0, Severity.CAUTION: 1, Severity.NOT_CHECKED: 2, Severity.NOTE: 3}


@dataclass(frozen=True, slots=True)
class KeptAnswer:
    """What the customer was shown: `specification` is the resolved one; no price while a stop stood."""

    specification: Specification
    findings: tuple[Finding, ...]
    price: Price | None
    forecast: Forecast | None
    price_book: str
    model_version: str
    as_of: date


def kept(answer: Answer) -> dict[str, Any] | None:
    """Plain JSON of an answer; None when there was no estimate."""
    made = answer.estimate
    if made is None:
        return None
    plain: dict[str, Any] = unstructured(
        KeptAnswer(
            made.specification,
            answer.findings,
            made.price,
            made.forecast,
            made.price_book,
            made.model_version,
            made.as_of,
        )
    )
    return plain


def read_again(plain: dict[str, Any] | None) -> KeptAnswer | None:
    """The kept answer as values."""
    return structured(plain, KeptAnswer) if plain else None


def gravest_first(findings: tuple[Finding, ...]) -> list[Finding]:
    """Stops, then cautions, then what was not checked, then notes; as given within each."""
    return sorted(findings, key=lambda finding: RANK[finding.severity])
