"""The owner's review of an enquiry: findings, price with cost and margin, like orders, date; then send, ask back or decline.

What the owner changes before sending is in `review_changes`.
"""

from typing import Any

from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.doing import submitted
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
from orders.desk.roles import open_to
from orders.desk.under_review import currency_now, forget, kept, review_of, under
from orders.models import Enquiry, RushCost
from orders.pictures import plan_of, range_of, title_block, unit_of
from orders.refusal import Refused
from orders.services import enquiry as enquiries
from orders.services import messages, rush
from orders.services.accepted import title_of
from orders.services.comparable import comparable_orders, typical_minutes
from orders.services.comparing import compare
from orders.services.quote import prepare_quote, send_quote
from orders.who import somebody
from quoting.estimate import Estimate
from quoting.models import Quote
from quoting.pricing.money import Money
from quoting.propeller.finding import Severity
from quoting.services.engineering import engineering_of


def the_enquiry(number: str) -> Enquiry:
    return get_object_or_404(Enquiry.objects.select_related("customer", "series"), number=number)


@open_to()
def review(request: HttpRequest, number: str) -> HttpResponse:
    """One enquiry under review."""
    return review_page(request, the_enquiry(number))


def review_page(request: HttpRequest, row: Enquiry, *, status: int = 200, **given: Any) -> HttpResponse:
    """The page with fresh forms, or those given back with what was typed and their errors."""
    changed = kept(request, row.number)
    quotes = list(row.series.revisions.order_by("-revision")) if row.series else []
    may_revise = bool(quotes) and not row.is_open and all(q.state != Quote.State.ACCEPTED for q in quotes)
    currency = currency_now()
    cost = rush.latest(row)
    context: dict[str, Any] = {
        "enquiry": row,
        "now": timezone.now(),
        "title": row.number,
        "asked": [(name.replace("_", " "), value) for name, value in sorted(row.typed.items()) if value],
        "talk": row.messages.order_by("written_at"),
        "quotes": quotes,
        "deciding": row.is_open or may_revise,
        "overridden": changed["override_reason"],
        "by_hand": set(changed["overrides"]) | {f"extra.{n}" for n in range(1, len(changed["extras"]) + 1)},
        "rush_cost": cost,
        "send": SendForm(initial={"seen": row.changed_at.isoformat()}),
        "extra": ExtraForm(),
        "terms": TermsForm(currency=currency, initial=changed["terms"] or suggested(row, cost)),
        "over": OverrideForm(),
        "ask": AskBackForm(),
        "refuse": DeclineForm(),
        "write": WriteForm(),
    }
    try:
        made = under(row, changed)
    except Refused as trouble:
        context["refused"] = trouble.message
    else:
        context |= shown(made, request.COOKIES.get("units", "in"), row.number)
        if made.price:
            lines = [(line.key, line.label) for line in made.price.lines]
            context["change"] = LineForm(lines=lines, initial={"line": request.GET.get("line", "")})
    return render(request, "desk/review.html", context | given, status=status)


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
        "price": price,
        "price_book": made.price_book,
        "margin_percent": f"{100 * price.margin.amount / price.net.amount:.0f}"
        if price and price.net
        else "",
        "comparables": likes,
        "hours": [(stage, usual.get(stage.stage)) for stage in made.work],
        "hours_estimated": made.minutes,
        "hours_taken": sum(usual.values()) if usual else None,
        "forecast": made.forecast,
        "picture": range_of(made.forecast),
    }


@require_POST
@open_to()
def send(request: HttpRequest, number: str) -> HttpResponse:
    """Draft the quote under the review and send it."""
    row = the_enquiry(number)

    def sent(given: dict[str, Any]) -> None:
        who, now = somebody(request.user), timezone.now()
        wanted = review_of(
            kept(request, number), message=given["message"], promised_for=given["promised_for"]
        )
        with transaction.atomic():
            draft = prepare_quote(
                who, row, wanted, today=timezone.localdate(now), now=now, seen=given["seen"]
            )
            send_quote(who, draft, now=now)
        forget(request, number)

    return submitted(
        request, SendForm(request.POST), sent, _("The quote is sent."),
        lambda form: review_page(request, row, status=422, send=form), "desk:review", number,
    )  # fmt: skip


@require_POST
@open_to()
def ask_back(request: HttpRequest, number: str) -> HttpResponse:
    """Ask the customer; the enquiry waits."""
    row = the_enquiry(number)
    return submitted(
        request,
        AskBackForm(request.POST),
        lambda given: enquiries.ask_back(
            somebody(request.user), row, question=given["question"], now=timezone.now()
        ),
        _("The question is sent; the enquiry waits for the answer."),
        lambda form: review_page(request, row, status=422, ask=form),
        "desk:review",
        number,
    )


@require_POST
@open_to()
def decline(request: HttpRequest, number: str) -> HttpResponse:
    """Decline with a reason."""
    row = the_enquiry(number)
    return submitted(
        request,
        DeclineForm(request.POST),
        lambda given: enquiries.decline(
            somebody(request.user), row, reason=given["reason"], now=timezone.now()
        ),
        _("The enquiry is declined."),
        lambda form: review_page(request, row, status=422, refuse=form),
        "desk:review",
        number,
    )


@require_POST
@open_to()
def write(request: HttpRequest, number: str) -> HttpResponse:
    """Write to the customer, about the enquiry or the quote that is out."""
    row = the_enquiry(number)
    return submitted(
        request,
        WriteForm(request.POST),
        lambda given: messages.write_to_customer(
            somebody(request.user), row, body=given["body"], now=timezone.now()
        ),
        _("Sent."),
        lambda form: review_page(request, row, status=422, write=form),
        "desk:review",
        number,
    )


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
    typed = request.GET.get(name, "")
    chosen = int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 6 else usual
    return chosen if chosen in quotes else usual
