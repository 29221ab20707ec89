"""The date of a review: the part of its page that renews itself while the exact one is worked out, and asking for it."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.doing import do
from orders.desk.review import ready, the_enquiry
from orders.desk.roles import open_to
from orders.desk.under_review import note_typed
from orders.refusal import Refused
from orders.services import exact_dates
from orders.services import review as reviews
from orders.services.forecast_moves import waits_for_desk
from orders.who import somebody


@open_to()
def part(request: HttpRequest, number: str) -> HttpResponse:
    """When it can be ready, with the hash of the page as it then is; only a word where more than the date has changed."""
    row = the_enquiry(number)
    changes = reviews.changes_of(row)
    context: dict[str, Any] = {"enquiry": row, "deciding": True, "renewed": True}
    try:
        made = reviews.under(row, changes, today=timezone.localdate())
    except Refused as trouble:
        context["refused"] = trouble.message
    else:
        shown = reviews.shown_hash(row, changes, made)
        context |= ready(row, changes, made) | {"shown": shown}
        context["waits"] = waits_for_desk(made.forecast.waits_on) if made.forecast else []
        context["outdated"] = not reviews.same_but_dates(shown, request.GET.get("shown", shown))
    return render(request, "desk/review_ready.html", context)


@require_POST
@open_to()
def ask(request: HttpRequest, number: str) -> HttpResponse:
    """Have the worker work out the exact date of what the page shows."""
    row = the_enquiry(number)
    changes = note_typed(request, row)
    return do(
        request,
        lambda: exact_dates.ask_for(
            somebody(request.user), row,
            rush=reviews.is_rush(changes), overridden=bool(changes["override_reason"]), now=timezone.now(),
        ),
        _("The worker works out the exact date."),
        "desk:review",
        number,
        anchor="ready",
    )  # fmt: skip
