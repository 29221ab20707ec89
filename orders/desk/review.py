"""The owner's review of an enquiry: findings, price with cost and margin, date; then send, ask back or decline.

What the owner changes before sending is kept in the session under the enquiry's number, so nothing typed is lost.
"""

from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.doing import at_field, do
from orders.desk.forms import LineForm, SendForm
from orders.desk.roles import open_to
from orders.models import Enquiry
from orders.pictures import plan_of, range_of, title_block, unit_of
from orders.refusal import Refused
from orders.services import enquiry as enquiries
from orders.services.accepted import title_of
from orders.services.quote import Review, prepare_quote, preview, send_quote
from orders.who import somebody
from quoting.estimate import Estimate
from quoting.models import Quote
from quoting.pricing.terms import Override
from quoting.propeller.finding import Severity
from quoting.services.engineering import engineering_of


def kept(request: HttpRequest, number: str) -> dict[str, Any]:
    """What the owner has changed on this enquiry so far."""
    return dict(request.session.get(f"review {number}", {"overrides": {}, "override_reason": ""}))


def keep(request: HttpRequest, number: str, changed: dict[str, Any]) -> None:
    request.session[f"review {number}"] = changed


def review_of(changed: dict[str, Any], **more: Any) -> Review:
    """The session's changes as the service takes them."""
    overrides = tuple(
        Override(
            key,
            row["reason"],
            Decimal(row["quantity"]) if row["quantity"] is not None else None,
            Decimal(row["rate"]) if row["rate"] is not None else None,
        )
        for key, row in sorted(changed["overrides"].items())
    )
    return Review(overrides=overrides, override_reason=changed["override_reason"], **more)


def the_enquiry(number: str) -> Enquiry:
    return get_object_or_404(Enquiry.objects.select_related("customer", "series"), number=number)


@open_to()
def review(request: HttpRequest, number: str) -> HttpResponse:
    """One enquiry under review."""
    return review_page(request, the_enquiry(number))


def review_page(
    request: HttpRequest,
    row: Enquiry,
    *,
    change: LineForm | None = None,
    send: SendForm | None = None,
    status: int = 200,
) -> HttpResponse:
    changed = kept(request, row.number)
    made: Estimate | None = None
    refused = ""
    try:
        made = preview(row, review_of(changed), today=timezone.localdate())
    except Refused as trouble:
        refused = trouble.message
    quotes = list(row.series.revisions.order_by("-revision")) if row.series else []
    context: dict[str, Any] = {
        "enquiry": row,
        "now": timezone.now(),
        "refused": refused,
        "title": row.number,
        "asked": [(name.replace("_", " "), value) for name, value in sorted(row.typed.items()) if value],
        "talk": row.messages.order_by("written_at"),
        "quotes": quotes,
        "may_revise": bool(quotes)
        and not row.is_open
        and all(q.state != Quote.State.ACCEPTED for q in quotes),
        "send": send or SendForm(initial={"seen": row.changed_at.isoformat()}),
        "overridden": changed["override_reason"],
    }
    if made:
        units = request.COOKIES.get("units", "in")
        context |= shown(made, units)
        block = title_block(row.number, "-", "under review", timezone.localdate())
        context["engineering"] = engineering_of(made.assessment, unit_of(units), block)
        context["drawing_compact"] = plan_of(made.specification, units).compact
        if made.price:
            context["change"] = change or LineForm(
                lines=[(line.key, line.label) for line in made.price.lines]
            )
    context["deciding"] = row.is_open or (bool(quotes) and context["may_revise"])
    return render(request, "desk/review.html", context, status=status)


def shown(made: Estimate, units: str) -> dict[str, Any]:
    """What a page shows of an estimate under review."""
    price = made.price
    plan = plan_of(made.specification, units)
    return {
        "title": title_of(made.specification, made.assessment.measures) if made.assessment.measures else "",
        "drawing": mark_safe(plan.wide),  # noqa: S308 -- drawn by quoting.propeller.drawing, customer text escaped
        "findings": sorted(made.findings, key=lambda f: -f.severity.rank),
        "stopped": any(f.severity is Severity.STOP for f in made.findings) and price is None,
        "price": price,
        "margin_percent": f"{100 * price.margin.amount / price.net.amount:.0f}"
        if price and price.net
        else "",
        "work": made.work,
        "forecast": made.forecast,
        "picture": range_of(made.forecast),
    }


@require_POST
@open_to()
def change_line(request: HttpRequest, number: str) -> HttpResponse:
    """Change one line by hand, with a reason."""
    row = the_enquiry(number)
    changed = kept(request, number)
    try:
        made = preview(row, review_of(changed), today=timezone.localdate())
    except Refused as trouble:
        messages.warning(request, trouble.message)
        return redirect("desk:review", number)
    lines = [(line.key, line.label) for line in made.price.lines] if made.price else []
    form = LineForm(request.POST, lines=lines)
    if not form.is_valid():
        return review_page(request, row, change=form, status=422)
    given = form.cleaned_data
    changed["overrides"] = {
        **changed["overrides"],
        given["line"]: {
            "reason": given["reason"],
            "quantity": None if given["quantity"] is None else str(given["quantity"]),
            "rate": None if given["rate"] is None else str(given["rate"]),
        },
    }
    try:
        preview(row, review_of(changed), today=timezone.localdate())
    except Refused as trouble:
        at_field(form, trouble)
        return review_page(request, row, change=form, status=422)
    keep(request, number, changed)
    messages.success(request, _("The line is changed; the reason stands on it."))
    return redirect("desk:review", number)


def is_stopped(row: Enquiry, changed: dict[str, Any], reason: str) -> bool:
    """Whether a stop withholds price and date with this written over it."""
    try:
        made = preview(row, review_of({**changed, "override_reason": reason}), today=timezone.localdate())
    except Refused:
        return bool(reason)
    return made.price is None


@require_POST
@open_to()
def override(request: HttpRequest, number: str) -> HttpResponse:
    """The owner's writing over a stop."""
    row = the_enquiry(number)
    changed = kept(request, number)
    reason = request.POST.get("reason", "").strip()[:2000]
    if not reason:
        messages.warning(request, _("Write why it is sound all the same."))
    elif not is_stopped(row, changed, ""):
        messages.warning(request, _("No stop stands, so there is nothing to override."))
    elif is_stopped(row, changed, reason):
        messages.warning(request, _("No writing lifts this stop: without a price there is nothing to quote."))
    else:
        keep(request, row.number, {**changed, "override_reason": reason})
        messages.success(request, _("The stop is overridden in writing; price and date are shown."))
    return redirect("desk:review", number)


@require_POST
@open_to()
def send(request: HttpRequest, number: str) -> HttpResponse:
    """Draft the quote under the review and send it."""
    row = the_enquiry(number)
    form = SendForm(request.POST)
    if not form.is_valid():
        return review_page(request, row, send=form, status=422)
    who, now = somebody(request.user), timezone.now()
    under = review_of(
        kept(request, number),
        message=form.cleaned_data["message"],
        promised_for=form.cleaned_data["promised_for"],
    )

    try:
        with transaction.atomic():
            draft = prepare_quote(
                who, row, under, today=timezone.localdate(now), now=now, seen=form.cleaned_data["seen"]
            )
            send_quote(who, draft, now=now)
    except Refused as refused:
        at_field(form, refused)
        return review_page(request, row, send=form, status=422)
    request.session.pop(f"review {number}", None)
    messages.success(request, _("The quote is sent."))
    return redirect("desk:review", number)


@require_POST
@open_to()
def ask_back(request: HttpRequest, number: str) -> HttpResponse:
    """Ask the customer; the enquiry waits."""
    row = the_enquiry(number)
    question = request.POST.get("question", "")[:5000]
    return do(
        request,
        lambda: enquiries.ask_back(somebody(request.user), row, question=question, now=timezone.now()),
        _("The question is sent; the enquiry waits for the answer."),
        "desk:review",
        number,
    )


@require_POST
@open_to()
def decline(request: HttpRequest, number: str) -> HttpResponse:
    """Decline with a reason."""
    row = the_enquiry(number)
    reason = request.POST.get("reason", "")[:5000]
    return do(
        request,
        lambda: enquiries.decline(somebody(request.user), row, reason=reason, now=timezone.now()),
        _("The enquiry is declined."),
        "desk:review",
        number,
    )
