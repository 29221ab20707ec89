"""What the owner changes on an enquiry under review: lines, lines of one's own, terms, a stop; each can be undone."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.doing import do, submitted
from orders.desk.review import review_page, the_enquiry
from orders.desk.review_forms import ExtraForm, LineForm, OverrideForm, TermsForm
from orders.desk.roles import open_to
from orders.desk.under_review import currency_now, keep, kept, under
from orders.models import Enquiry
from orders.refusal import Refused
from orders.services import rush
from orders.who import somebody
from quoting.propeller.finding import Severity

MOST_EXTRAS = 30


def changed_by(request: HttpRequest, row: Enquiry, changed: dict[str, Any], fields: dict[str, str]) -> None:
    """Keep changes that the price can be worked under; a refusal is told at the form's own field.

    `fields` maps the end of a pricing field to the form's.
    """
    try:
        made = under(row, changed)
        if made.price is None and under(row, kept(request, row.number)).price is not None:
            stop = next(f for f in reversed(made.findings) if f.severity is Severity.STOP)
            raise Refused(stop.code, stop.message, status=400, field=stop.field)
    except Refused as refused:
        refused.field = fields.get(refused.field.rpartition(".")[2], refused.field)
        raise
    keep(request, row.number, changed)


@require_POST
@open_to()
def change_line(request: HttpRequest, number: str) -> HttpResponse:
    """Change one line by hand, with a reason."""
    row, changed = the_enquiry(number), kept(request, number)
    form = LineForm(request.POST, lines=lines_of(row, changed))

    def change(given: dict[str, Any]) -> None:
        row_of = {"reason": given["reason"]} | {
            name: None if given[name] is None else f"{given[name]:f}" for name in ("quantity", "rate")
        }
        changes = {**changed, "overrides": {**changed["overrides"], given["line"]: row_of}}
        changed_by(request, row, changes, {"reason": "reason", "quantity": "quantity", "rate": "rate"})

    return submitted(
        request, form, change, _("The line is changed; the reason stands on it."),
        lambda form: review_page(request, row, status=422, change=form), "desk:review", number,
    )  # fmt: skip


def lines_of(row: Enquiry, changed: dict[str, Any]) -> list[tuple[str, str]]:
    """The lines that can be changed, as they stand."""
    try:
        made = under(row, changed)
    except Refused:
        return []
    return [(line.key, line.label) for line in made.price.lines] if made.price else []


@require_POST
@open_to()
def add_line(request: HttpRequest, number: str) -> HttpResponse:
    """Add a line of one's own, with a reason."""
    row, changed = the_enquiry(number), kept(request, number)
    form = ExtraForm(request.POST)

    def add(given: dict[str, Any]) -> None:
        if len(changed["extras"]) >= MOST_EXTRAS:
            raise Refused(
                "too-many", _("A quote holds at most %(n)d lines of one's own.") % {"n": MOST_EXTRAS}
            )
        words = {name: f"{value:f}" if not isinstance(value, str) else value for name, value in given.items()}
        changed_by(request, row, {**changed, "extras": [*changed["extras"], words]}, {})

    return submitted(
        request, form, add, _("The line is added; the reason stands on it."),
        lambda form: review_page(request, row, status=422, extra=form), "desk:review", number,
    )  # fmt: skip


@require_POST
@open_to()
def change_terms(request: HttpRequest, number: str) -> HttpResponse:
    """Grant a discount, ask for a rush, another deposit, insurance, duty or no crate."""
    row, changed = the_enquiry(number), kept(request, number)
    currency = currency_now()
    form = TermsForm(request.POST, currency=currency)

    def change(given: dict[str, Any]) -> None:
        fields = {"amount": "discount_amount", "percent": "discount_percent", "reason": "discount_reason"}
        changed_by(request, row, {**changed, "terms": form.kept(currency)}, fields)

    return submitted(
        request, form, change, _("The terms are changed."),
        lambda form: review_page(request, row, status=422, terms=form), "desk:review", number,
    )  # fmt: skip


@require_POST
@open_to()
def override(request: HttpRequest, number: str) -> HttpResponse:
    """The owner's writing over a stop."""
    row, changed = the_enquiry(number), kept(request, number)

    def write(given: dict[str, Any]) -> None:
        if not is_stopped(row, {**changed, "override_reason": ""}):
            raise Refused("no-stop", _("No stop stands, so there is nothing to override."))
        over = {**changed, "override_reason": given["reason"].strip()}
        if is_stopped(row, over):
            raise Refused(
                "no-price", _("No writing lifts this stop: without a price there is nothing to quote.")
            )
        keep(request, row.number, over)

    return submitted(
        request, OverrideForm(request.POST), write,
        _("The stop is overridden in writing; price and date are shown."),
        lambda form: review_page(request, row, status=422, over=form), "desk:review", number,
    )  # fmt: skip


def is_stopped(row: Enquiry, changed: dict[str, Any]) -> bool:
    """Whether a stop withholds price and date under these changes."""
    try:
        return under(row, changed).price is None
    except Refused:
        return bool(changed["override_reason"])


@require_POST
@open_to()
def undo(request: HttpRequest, number: str) -> HttpResponse:
    """Take back one change of the owner's: a line, a line of one's own, or the writing over a stop."""
    row, changed = the_enquiry(number), kept(request, number)
    key = request.POST.get("key", "")

    def take_back() -> None:
        place = key.removeprefix("extra.")
        if key == "override":
            changed["override_reason"] = ""
        elif key in changed["overrides"]:
            changed["overrides"] = {k: v for k, v in changed["overrides"].items() if k != key}
        elif key.startswith("extra.") and place.isascii() and place.isdigit():
            left = [e for n, e in enumerate(changed["extras"], 1) if n != int(place)]
            changed["extras"] = left
            # lines of one's own are numbered, so what was changed on them goes too
            changed["overrides"] = {
                k: v for k, v in changed["overrides"].items() if not k.startswith("extra.")
            }
        else:
            raise Refused("unknown", _("There is no such change to take back."))
        keep(request, row.number, changed)

    return do(request, take_back, _("Taken back."), "desk:review", number)


@require_POST
@open_to()
def rush_cost(request: HttpRequest, number: str) -> HttpResponse:
    """Have the worker work out what going first costs the others."""
    row = the_enquiry(number)
    return do(
        request,
        lambda: rush.ask_for(somebody(request.user), row, now=timezone.now()),
        _("The worker compares the queue; look again in a few seconds."),
        "desk:review",
        number,
    )
