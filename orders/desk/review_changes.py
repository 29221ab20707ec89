"""What the owner changes on an enquiry under review: lines, lines of one's own, terms, a stop; each can be undone."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.doing import do, submitted
from orders.desk.review import review_page, the_enquiry
from orders.desk.review_forms import ExtraForm, LineForm, OverrideForm, TermsForm
from orders.desk.roles import open_to
from orders.desk.under_review import currency_now, note_typed
from orders.models import Enquiry
from orders.refusal import Refused
from orders.services import review, rush
from orders.services.review import NOTHING, Changes, under
from orders.who import somebody
from quoting.propeller.finding import Severity
from quoting.services.written import whole_of

MOST_EXTRAS = 30


def changed_by(
    request: HttpRequest, row: Enquiry, changes: Changes, fields: dict[str, str], done: str
) -> None:
    """Keep changes that the price can be worked under; a refusal is told at the form's own field.

    `fields` maps the end of a pricing field to the form's; `done` is the form whose words are done with.
    """
    today = timezone.localdate()
    try:
        made = under(row, changes, today=today)
        if made.price is None and under(row, review.changes_of(row), today=today).price is not None:
            stop = next(f for f in reversed(made.findings) if f.severity is Severity.STOP)
            raise Refused(stop.code, stop.message, status=400, field=stop.field)
    except Refused as refused:
        refused.field = fields.get(refused.field.rpartition(".")[2], refused.field)
        raise
    review.keep(somebody(request.user), row, changes, done=done, now=timezone.now())


@require_POST
@open_to()
def keep_typed(request: HttpRequest, number: str) -> HttpResponse:
    """Keep what is typed on the page; `pick` names a line to change next."""
    row = the_enquiry(number)
    note_typed(request, row)
    picked = request.POST.get("pick", "")
    if picked:
        return redirect(f"{reverse('desk:review', args=[number])}?{urlencode({'line': picked})}#change")
    return do(request, lambda: None, _("Kept. Nothing is sent."), "desk:review", number)


@require_POST
@open_to()
def change_line(request: HttpRequest, number: str) -> HttpResponse:
    """Change one line by hand, with a reason."""
    row = the_enquiry(number)
    changes = note_typed(request, row)
    form = LineForm(request.POST, lines=lines_of(row, changes))

    def change(given: dict[str, Any]) -> None:
        line = {"reason": given["reason"]} | {
            name: None if given[name] is None else f"{given[name]:f}" for name in ("quantity", "rate")
        }
        changed = {**changes, "overrides": {**changes["overrides"], given["line"]: line}}
        changed_by(
            request, row, changed, {"reason": "reason", "quantity": "quantity", "rate": "rate"}, "change"
        )

    return submitted(
        request, form, change, _("The line is changed; the reason stands on it."),
        lambda form: review_page(request, row, status=422, change=form), "desk:review", number, anchor="price",
    )  # fmt: skip


def lines_of(row: Enquiry, changes: Changes) -> list[tuple[str, str]]:
    """The lines that can be changed, as they stand."""
    try:
        made = under(row, changes, today=timezone.localdate())
    except Refused:
        return []
    return [(line.key, line.label) for line in made.price.lines] if made.price else []


@require_POST
@open_to()
def add_line(request: HttpRequest, number: str) -> HttpResponse:
    """Add a line of one's own, with a reason."""
    row = the_enquiry(number)
    changes = note_typed(request, row)
    form = ExtraForm(request.POST)

    def add(given: dict[str, Any]) -> None:
        if len(changes["extras"]) >= MOST_EXTRAS:
            raise Refused(
                "too-many", _("A quote holds at most %(n)d lines of one's own.") % {"n": MOST_EXTRAS}
            )
        words = {name: f"{value:f}" if not isinstance(value, str) else value for name, value in given.items()}
        changed_by(request, row, {**changes, "extras": [*changes["extras"], words]}, {}, "extra")

    return submitted(
        request, form, add, _("The line is added; the reason stands on it."),
        lambda form: review_page(request, row, status=422, extra=form), "desk:review", number, anchor="price",
    )  # fmt: skip


@require_POST
@open_to()
def change_terms(request: HttpRequest, number: str) -> HttpResponse:
    """Grant a discount, ask for a rush, another deposit, insurance, duty or no crate."""
    row = the_enquiry(number)
    changes = note_typed(request, row)
    currency = currency_now()
    form = TermsForm(request.POST, currency=currency)

    def change(_given: dict[str, Any]) -> None:
        fields = {"amount": "discount_amount", "percent": "discount_percent", "reason": "discount_reason"}
        changed_by(request, row, {**changes, "terms": form.kept(currency)}, fields, "terms")

    return submitted(
        request, form, change, _("The terms are changed."),
        lambda form: review_page(request, row, status=422, terms=form), "desk:review", number, anchor="price",
    )  # fmt: skip


@require_POST
@open_to()
def override(request: HttpRequest, number: str) -> HttpResponse:
    """The owner's writing over a stop."""
    row = the_enquiry(number)
    changes = note_typed(request, row)

    def write(given: dict[str, Any]) -> None:
        if not is_stopped(row, {**changes, "override_reason": ""}):
            raise Refused("no-stop", _("No stop stands, so there is nothing to override."))
        over = {**changes, "override_reason": given["override_reason"].strip()}
        if is_stopped(row, over):
            raise Refused(
                "no-price", _("No writing lifts this stop: without a price there is nothing to quote.")
            )
        review.keep(somebody(request.user), row, over, done="over", now=timezone.now())

    return submitted(
        request, OverrideForm(request.POST), write,
        _("The stop is overridden in writing; price and date are shown."),
        lambda form: review_page(request, row, status=422, over=form), "desk:review", number, anchor="findings",
    )  # fmt: skip


def is_stopped(row: Enquiry, changes: Changes) -> bool:
    """Whether a stop withholds price and date under these changes."""
    try:
        return under(row, changes, today=timezone.localdate()).price is None
    except Refused:
        return bool(changes["override_reason"])


@require_POST
@open_to()
def undo(request: HttpRequest, number: str) -> HttpResponse:
    """Take back one change of the owner's: a line, a line of one's own, the writing over a stop; or all of them."""
    row = the_enquiry(number)
    changes = note_typed(request, row)
    key = request.POST.get("key", "")

    def take_back() -> None:
        left = NOTHING if key == "all" else without(changes, key)
        review.keep(somebody(request.user), row, left, now=timezone.now())

    anchor = "findings" if key == "override" else "price"
    return do(request, take_back, _("Taken back."), "desk:review", number, anchor=anchor)


def without(changes: Changes, key: str) -> Changes:
    """The changes without the one named; raises Refused when there is none of that name."""
    place = key.removeprefix("extra.")
    if key == "override":
        return {**changes, "override_reason": ""}
    if key in changes["overrides"]:
        return {**changes, "overrides": {k: v for k, v in changes["overrides"].items() if k != key}}
    if key.startswith("extra.") and (number := whole_of(place)) is not None:
        extras = [e for n, e in enumerate(changes["extras"], 1) if n != number]
        # lines of one's own are numbered, so what was changed on them goes too
        overrides = {k: v for k, v in changes["overrides"].items() if not k.startswith("extra.")}
        return {**changes, "extras": extras, "overrides": overrides}
    raise Refused("unknown", _("There is no such change to take back."))


@require_POST
@open_to()
def rush_cost(request: HttpRequest, number: str) -> HttpResponse:
    """Have the worker work out what going first costs the others."""
    row = the_enquiry(number)
    note_typed(request, row)
    return do(
        request,
        lambda: rush.ask_for(somebody(request.user), row, now=timezone.now()),
        _("The worker compares the queue; look again in a few seconds."),
        "desk:review",
        number,
        anchor="change",
    )
