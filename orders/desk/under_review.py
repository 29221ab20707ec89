"""The forms of the review's page: fresh, or with what was typed and not done yet."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.http import HttpRequest
from django.utils import timezone

from orders.desk.forms import SendForm
from orders.desk.review_forms import (
    AskBackForm,
    DeclineForm,
    ExtraForm,
    LineForm,
    OverrideForm,
    TermsForm,
    WriteForm,
)
from orders.models import Enquiry
from orders.services import review
from orders.services.enquiry import question_about
from orders.services.review import Changes
from orders.who import somebody
from quoting.services.pricebook import NoPriceBook, current_book
from quoting.services.quotes import results_of

KINDS: dict[str, type[forms.Form]] = {
    "over": OverrideForm,
    "change": LineForm,
    "extra": ExtraForm,
    "terms": TermsForm,
    "send": SendForm,
    "ask": AskBackForm,
    "refuse": DeclineForm,
    "write": WriteForm,
}
"""The forms by the name they have on the page; no two share a field's name, for one press sends them all."""

NOT_TYPED = {"line", "shown", "sooner", "below_cost"}
"""Fields that alone are no words of the owner's."""


def currency_now() -> str:
    """The currency a quote would be in today."""
    try:
        return current_book(timezone.localdate()).currency
    except NoPriceBook:
        return "EUR"


def form_of(name: str, data: Any = None, *, lines: Any = (), **more: Any) -> forms.Form:
    """A form of the page by its name."""
    if name == "change":
        return LineForm(data, lines=list(lines), **more)
    if name == "terms":
        return TermsForm(data, currency=currency_now(), **more)
    return KINDS[name](data, **more)


def standing_in(name: str, row: Enquiry, changes: Changes) -> dict[str, Any]:
    """What stands in a form before anything is typed.

    The terms granted, the day that was promised by hand before, the question about what was left open.
    """
    if name == "terms":
        return dict(changes["terms"])
    if name == "ask":
        return {"question": question_about(row)}
    sent = review.last_sent(row) if name == "send" else None
    if sent and sent.promised_for and sent.promised_for > timezone.localdate():
        forecast = results_of(sent).forecast
        if forecast is None or forecast.plan_on != sent.promised_for:
            return {"promised_for": sent.promised_for}
    return {}


def typed_in(data: Mapping[str, Any], row: Enquiry, changes: Changes) -> dict[str, dict[str, str] | None]:
    """By form the words sent with the page that are not done yet; None where a form holds none."""
    found: dict[str, dict[str, str] | None] = {}
    for name in KINDS:
        form = form_of(name, data, initial=standing_in(name, row, changes))
        words = {field: data[field] for field in form.fields if field in data}
        if not words.keys() - NOT_TYPED:
            continue
        found[name] = words if set(form.changed_data) - NOT_TYPED else None
    return found


def note_typed(request: HttpRequest, row: Enquiry) -> Changes:
    """Keep all that was typed on the page that was sent, so that no press loses another's words; the changes so far."""
    changes = review.changes_of(row)
    who = somebody(request.user)
    review.keep_typed(who, row, typed_in(request.POST, row, changes), now=timezone.now())
    return changes


def done_with(request: HttpRequest, row: Enquiry, name: str) -> None:
    """Forget the words of a form that was done."""
    review.keep_typed(somebody(request.user), row, {name: None}, now=timezone.now())
