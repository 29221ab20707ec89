"""The instant answer: typed fields in, an estimate or the findings that stand in its way out.

`quoting.services.asked` lists the fields. Nothing is stored here.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from quoting.estimate import Estimate, estimate
from quoting.pricing.refusal import Refused
from quoting.pricing.terms import COLLECT, Terms
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.specification import Specification
from quoting.services.asked import Asked, asked
from quoting.services.catalogue import catalogue
from quoting.services.outlook import outlook_on
from quoting.services.pricebook import (
    BookRefused,
    NoPriceBook,
    current_book,
    home_country,
    tax_rows,
    zone_for,
)
from quoting.services.reading import MISSING

SOURCE = "what the workshop has set up"


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer to one submission.

    `problems` are fields to mend or to fill in (then there is no estimate); `findings` everything that is to be shown
    with the estimate, remarks on the form's fields first. `rush` and the destination are as understood;
    `country_assumed` when none was typed and the price is for the workshop's own.
    """

    typed: Mapping[str, Any]
    specification: Specification | None
    estimate: Estimate | None
    problems: tuple[Finding, ...]
    findings: tuple[Finding, ...]
    country: str
    collected: bool
    rush: bool
    country_assumed: bool = False

    @property
    def lacking(self) -> tuple[Finding, ...]:
        """What is left open that a price and a date need; the workshop can ask for it."""
        return tuple(problem for problem in self.problems if problem.code == MISSING)

    @property
    def wrong(self) -> tuple[Finding, ...]:
        """What cannot stay as it is typed."""
        return tuple(problem for problem in self.problems if problem.code != MISSING)


def lacking(typed: Mapping[str, Any]) -> tuple[Finding, ...]:
    """What an enquiry leaves open that a price and a date need."""
    return tuple(finding for finding in asked(typed, catalogue()).findings if finding.code == MISSING)


def specification_from(typed: Mapping[str, Any]) -> tuple[Specification | None, tuple[Finding, ...]]:
    """The full specification, or None with a finding at every field that needs mending.

    Findings can stand beside a specification too: remarks on what was assumed.
    """
    what = asked(typed, catalogue())
    return what.specification, what.findings


def live_estimate(typed: Mapping[str, Any], *, today: date) -> Answer:
    """The instant answer under the price book in force, the tax table and the last plan's outlook."""
    what = asked(typed, catalogue())
    if what.specification is None:
        return _unanswered(typed, what, what.findings)
    try:
        book = current_book(today)
        terms = terms_for(what, today=today)
        remarks = (*what.findings, *_about_rush(what), *_about_country(what, terms))
        made = estimate(
            what.specification, book, outlook_on(today), terms, today=today, rush=what.rush, remarks=remarks
        )
    except NoPriceBook:
        return _unanswered(typed, what, (_not_set_up(_("The workshop has no price book in force yet.")),))
    except BookRefused:
        return _unanswered(typed, what, (_not_set_up(_("The price book in force is not whole any more.")),))
    except Refused as refused:
        return _unanswered(typed, what, (refused.finding,))
    return Answer(
        typed, what.specification, made, (), made.findings, terms.country, what.collected, what.rush,
        country_assumed=not what.country,
    )  # fmt: skip


def terms_for(what: Asked, *, today: date) -> Terms:
    """Terms of the instant answer: destination, freight zone and tax; raises `Refused` where nothing serves it."""
    country = what.country or home_country()
    zone = COLLECT if what.collected else (zone_for(country) or "other")
    return Terms(country=country, zone=zone, on=today, taxes=tax_rows())


def _unanswered(typed: Mapping[str, Any], what: Asked, problems: tuple[Finding, ...]) -> Answer:
    stops = tuple(f for f in problems if f.severity is Severity.STOP)
    return Answer(typed, what.specification, None, stops, problems, what.country, what.collected, what.rush)


def _not_set_up(message: str) -> Finding:
    return Finding("not-set-up", Severity.STOP, "", None, None, "", message, SOURCE)


def _about_rush(what: Asked) -> tuple[Finding, ...]:
    if not what.rush:
        return ()
    message = _(
        "Going first costs a surcharge that the workshop works out from the queue and adds in its quote."
    )
    return (Finding("rush-surcharge", Severity.NOTE, "rush", None, None, "", message, SOURCE),)


def _about_country(what: Asked, terms: Terms) -> tuple[Finding, ...]:
    if what.country:
        return ()
    message = _("No country chosen: tax and freight are answered for %(country)s.") % {
        "country": terms.country
    }
    return (Finding("country-assumed", Severity.NOTE, "country", None, None, "", message, SOURCE),)
