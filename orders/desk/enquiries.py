"""Enquiries and the quotes made of them: the list, by state and by words."""

from django.core.paginator import Paginator
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from orders.desk.roles import open_to
from orders.models import Enquiry
from orders.services.glance import at_a_glance, glance_of
from quoting.models import Quote

SHOWN = 25
OPEN = [Enquiry.State.NEW, Enquiry.State.ASKED_BACK]
STATES = [
    ("", _("to review or asked back")),
    ("all", _("all")),
    ("sent", _("quote is out")),
    ("accepted", _("quote accepted")),
    ("refused", _("quote declined by the customer")),
    ("lapsed", _("quote lapsed")),
    ("declined", _("declined by us")),
    ("withdrawn", _("withdrawn")),
]
OF_QUOTE = {
    "sent": Quote.State.SENT,
    "accepted": Quote.State.ACCEPTED,
    "refused": Quote.State.DECLINED,
    "lapsed": Quote.State.LAPSED,
}


def asked_for(rows: QuerySet[Enquiry], state: str, find: str) -> QuerySet[Enquiry]:
    """Enquiries in a state ("" for those that wait, "all" for all) that match the words typed."""
    if find:
        by_words = Q(number__icontains=find) | Q(series__number__icontains=find)
        rows = rows.filter(by_words | Q(customer__name__icontains=find) | Q(customer__email__icontains=find))
    if state in OF_QUOTE:
        return rows.filter(series__revisions__state=OF_QUOTE[state]).distinct()
    if state == "all":
        return rows
    return rows.filter(state=state) if state in Enquiry.State.values else rows.filter(state__in=OPEN)


@open_to()
def enquiries(request: HttpRequest) -> HttpResponse:
    """The list, newest first; words alone are looked for in every state."""
    find = request.GET.get("find", "").strip()[:80]
    state = request.GET.get("state", "")
    rows = asked_for(Enquiry.objects.all(), "all" if find and not state else state, find)
    page = Paginator(at_a_glance(rows.order_by("-created_at", "-id")), SHOWN).get_page(
        request.GET.get("page")
    )
    query = request.GET.copy()
    query.pop("page", None)
    context = {
        "page": page,
        "glances": [glance_of(row) for row in page.object_list],
        "states": STATES,
        "state": state,
        "find": find,
        "query": f"{query.urlencode()}&" if query else "",
        "now": timezone.now(),
    }
    return render(request, "desk/enquiries.html", context)
