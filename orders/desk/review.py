"""The owner's review of an enquiry: findings, price with cost and margin, like orders, date; then send, ask back or decline.

What the owner changes before sending is in `review_changes`.
"""

from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.doing import submitted
from orders.desk.forms import SendForm
from orders.desk.review_forms import AskBackForm, DeclineForm, WriteForm
from orders.desk.roles import open_to
from orders.desk.under_review import KINDS, done_with, form_of, note_typed, standing_in
from orders.models import Enquiry, RushCost
from orders.pictures import plan_of, range_of, title_block, unit_of
from orders.refusal import Refused
from orders.services import enquiry as enquiries
from orders.services import exact_dates, messages, rush
from orders.services import review as reviews
from orders.services.accepted import title_of
from orders.services.comparable import comparable_orders, typical_minutes
from orders.services.comparing import compare
from orders.services.forecast_moves import waits_for_desk
from orders.services.planned import standing
from orders.services.quote import may_be_quoted
from orders.services.review import Changes, Sending, under
from orders.who import somebody
from quoting.estimate import Estimate
from quoting.models import Quote
from quoting.pricing.money import Money
from quoting.propeller.finding import Severity
from quoting.services.engineering import engineering_of
from quoting.services.written import whole_of


def the_enquiry(number: str) -> Enquiry:
    return get_object_or_404(Enquiry.objects.select_related("customer", "series"), number=number)


@open_to()
def review(request: HttpRequest, number: str) -> HttpResponse:
    """One enquiry under review."""
    return review_page(request, the_enquiry(number))


def review_page(
    request: HttpRequest, row: Enquiry, *, status: int = 200, **given: forms.Form
) -> HttpResponse:
    """The page with its forms as typed, or those given back with their errors."""
    today = timezone.localdate()
    changes, typed, cost = reviews.changes_of(row), reviews.typed_of(row), rush.latest(row)
    quotes = list(row.series.revisions.order_by("-revision")) if row.series else []
    context: dict[str, Any] = {
        "enquiry": row,
        "now": timezone.now(),
        "title": row.number,
        "talk": messages.talk_about(row).order_by("written_at"),
        "quotes": quotes,
        "starts_from": reviews.last_sent(row),
        "deciding": may_be_quoted(row),
        "changed": changes != reviews.NOTHING,
        "overridden": changes["override_reason"],
        "by_hand": set(changes["overrides"]) | {f"extra.{n}" for n in range(1, len(changes["extras"]) + 1)},
        "rush_cost": cost,
        "wrong": next((form for form in given.values() if form.errors), None),
    }
    made, lines = None, []
    try:
        made = under(row, changes, today=today)
    except Refused as trouble:
        context["refused"] = trouble.message
    else:
        context |= shown(made, request.COOKIES.get("units", "in"), row.number)
        context |= ready(row, changes, made)
        lines = [(line.key, line.label) for line in made.price.lines] if made.price else []
    picked = request.GET.get("line", "")
    for name in KINDS:
        words = typed.get(name) or standing_in(name, row, changes)
        if name == "terms" and not words:
            words = suggested(row, cost)
        if name == "change" and picked:
            words = {**words, "line": picked}
        context[name] = given.get(name) or form_of(name, lines=lines, initial=words)
    context["unfinished"] = [name for name in reviews.PRICED if name in typed]
    context["picked"] = picked
    send = context["send"]
    context["shown"] = reviews.shown_hash(row, changes, made) if made else ""
    context["is_sooner"] = is_sooner(send["promised_for"].value(), made)
    return render(request, "desk/review.html", context, status=status)


def is_sooner(day: Any, made: Estimate | None) -> bool:
    """Whether a day as typed comes before the plan's 80 % point."""
    return bool(day and made and made.forecast and str(day) < made.forecast.plan_on.isoformat())


def suggested(row: Enquiry, cost: RushCost | None) -> dict[str, str]:
    """What stands in the terms before the owner has typed: the worker's surcharge where the customer asked to go first."""
    if not row.typed.get("rush") or cost is None or cost.surcharge is None:
        return {}
    return {"rush": str(Money.from_minor(cost.surcharge, cost.currency).amount)}


def shown(made: Estimate, units: str, number: str) -> dict[str, Any]:
    """What a page shows of an estimate under review."""
    price, measures = made.price, made.assessment.measures
    plan = plan_of(made.specification, units)
    likes = comparable_orders(made.specification, measures) if measures else ()
    block = title_block(number, "-", "under review", timezone.localdate())
    usual = typical_minutes(likes)
    return {
        "title": title_of(made.specification, measures) if measures else "",
        "drawing": mark_safe(plan.wide),  # noqa: S308 -- drawn by quoting.propeller.drawing, customer text escaped
        "drawing_compact": plan.compact,
        "engineering": engineering_of(made.assessment, unit_of(units), block),
        "findings": sorted(made.findings, key=lambda f: -f.severity.rank),
        "stopped": any(f.severity is Severity.STOP for f in made.findings) and price is None,
        "stops": sum(f.severity is Severity.STOP for f in made.findings),
        "cautions": sum(f.severity is Severity.CAUTION for f in made.findings),
        "unchecked": sum(f.severity is Severity.NOT_CHECKED for f in made.findings),
        "is_below_cost": reviews.is_below_cost(made),
        "price": price,
        "price_book": made.price_book,
        "margin_percent": f"{100 * price.margin.amount / price.net.amount:.0f}"
        if price and price.net
        else "",
        "comparables": likes,
        "hours": [(stage, usual.get(stage.stage)) for stage in made.work],
        "hours_estimated": made.minutes,
        "hours_taken": sum(usual.values()) if usual else None,
        "waits": waits_for_desk(made.forecast.waits_on) if made.forecast else [],
    }


def ready(row: Enquiry, changes: Changes, made: Estimate) -> dict[str, Any]:
    """When it can be ready: the date, whether a better one is on its way, and what the clock waits on."""
    dated = exact_dates.dated(row, made, rush=reviews.is_rush(changes))
    return {
        "dated": dated,
        "forecast": dated.forecast,
        "picture": range_of(dated.forecast),
        "standing": standing(timezone.now()) if dated.being_made else None,
    }


@require_POST
@open_to()
def send(request: HttpRequest, number: str) -> HttpResponse:
    """Send the quote as the page showed it."""
    row = the_enquiry(number)
    note_typed(request, row)

    def sent(given: dict[str, Any]) -> None:
        now = timezone.now()
        reviews.send(somebody(request.user), row, Sending(**given), today=timezone.localdate(now), now=now)

    return submitted(
        request, SendForm(request.POST), sent, _("The quote is sent."),
        lambda form: review_page(request, row, status=422, send=form), "desk:review", number,
    )  # fmt: skip


@require_POST
@open_to()
def ask_back(request: HttpRequest, number: str) -> HttpResponse:
    """Ask the customer; the enquiry waits."""
    row = the_enquiry(number)
    note_typed(request, row)

    def asked(given: dict[str, Any]) -> None:
        enquiries.ask_back(somebody(request.user), row, question=given["question"], now=timezone.now())
        done_with(request, row, "ask")

    return submitted(
        request, AskBackForm(request.POST), asked, _("The question is sent; the enquiry waits for the answer."),
        lambda form: review_page(request, row, status=422, ask=form), "desk:review", number, anchor="messages",
    )  # fmt: skip


@require_POST
@open_to()
def decline(request: HttpRequest, number: str) -> HttpResponse:
    """Decline with a reason."""
    row = the_enquiry(number)
    note_typed(request, row)

    def declined(given: dict[str, Any]) -> None:
        enquiries.decline(somebody(request.user), row, reason=given["refusal"], now=timezone.now())
        done_with(request, row, "refuse")

    return submitted(
        request, DeclineForm(request.POST), declined, _("The enquiry is declined."),
        lambda form: review_page(request, row, status=422, refuse=form), "desk:review", number,
    )  # fmt: skip


@require_POST
@open_to()
def write(request: HttpRequest, number: str) -> HttpResponse:
    """Write to the customer, about the enquiry or the quote that is out."""
    row = the_enquiry(number)
    note_typed(request, row)

    def written(given: dict[str, Any]) -> None:
        messages.write_to_customer(somebody(request.user), row, body=given["body"], now=timezone.now())
        done_with(request, row, "write")

    return submitted(
        request, WriteForm(request.POST), written, _("Sent."),
        lambda form: review_page(request, row, status=422, write=form), "desk:review", number, anchor="messages",
    )  # fmt: skip


@open_to()
def compare_revisions(request: HttpRequest, number: str) -> HttpResponse:
    """Two revisions of the enquiry's quote: the two newest, or those named."""
    row = the_enquiry(number)
    quotes = (
        {q.revision: q for q in row.series.revisions.exclude(state=Quote.State.DRAFTED)} if row.series else {}
    )
    if len(quotes) < 2:
        raise Http404
    older, newer = sorted(quotes)[-2:]
    before, after = (
        _chosen(request, name, quotes, usual) for name, usual in (("from", older), ("to", newer))
    )
    found = compare(quotes[before], quotes[after])
    context = {
        "enquiry": row, "comparison": found, "typed": found.typed, "basis": True, "revisions": sorted(quotes),
        "before": before, "after": after, "now": timezone.now(),
    }  # fmt: skip
    return render(request, "desk/compare.html", context)


def _chosen(request: HttpRequest, name: str, quotes: dict[int, Quote], usual: int) -> int:
    chosen = whole_of(request.GET.get(name, ""))
    return chosen if chosen in quotes else usual
