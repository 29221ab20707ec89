"""My propellers: everything of one signed-in customer."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from orders import access
from orders.models import Enquiry, Order
from portal.facts import title_of
from portal.following import late_of
from portal.templatetags.sheet import day
from portal.views.enquiry import newest_quote
from portal.views.enquiry import standing as standing_of_enquiry
from portal.views.order import ORDER_SHAPES, standing
from portal.wanted import Wish, wanted_from
from quoting.models import Quote
from quoting.services.answers import read_again


@login_required
@require_safe
def mine(request: HttpRequest) -> HttpResponse:
    """First what is wanted, then orders, then quotes and enquiries."""
    customer = access.customer_of(request.user)
    orders = list(access.own_rows(request.user, Order).order_by("-accepted_at"))
    asked = access.own_rows(request.user, Enquiry).filter(order=None).select_related("series")
    enquiries = list(asked.order_by("-created_at"))
    wanted = [wish for order in orders for wish in wanted_from(order)]
    wanted += [wish for enquiry in enquiries for wish in wanted_on(enquiry)]
    context = {
        "customer": customer,
        "wanted": wanted,
        "orders": [order_row(order) for order in orders],
        "asked": [enquiry_row(enquiry) for enquiry in enquiries],
    }
    return render(request, "portal/mine.html", context)


def order_row(order: Order) -> dict[str, str]:
    when = day(order.dispatched_at) if order.dispatched_at else ""
    if order.promise and order.is_open:
        when = _("promised %(day)s") % {"day": day(order.promise)}
    return {
        "url": reverse("portal:own_order", args=[order.number]),
        "title": order.title,
        "number": order.number,
        "shape": ORDER_SHAPES[Order.State(order.state)],
        "word": standing(order)[0],
        "when": when,
        "late": late_words(order),
    }


def late_words(order: Order) -> str:
    """That an order is late, with the day planned on now; nothing when it is not."""
    late = late_of(order)
    if late is None:
        return ""
    if late.plan_on is None:
        return _("Late; a new day is being worked out.")
    return _("Late; we now plan on %(day)s.") % {"day": day(late.plan_on)}


def enquiry_row(enquiry: Enquiry) -> dict[str, str]:
    answer = read_again(enquiry.estimate)
    shape, word, _what_next = standing_of_enquiry(enquiry, newest_quote(enquiry), None)
    return {
        "url": reverse("portal:enquiry", args=[enquiry.token]),
        "title": title_of(answer.specification) if answer else _("Enquiry"),
        "number": enquiry.number,
        "shape": shape,
        "word": word,
        "when": _("asked %(day)s") % {"day": day(enquiry.created_at)},
    }


def wanted_on(enquiry: Enquiry) -> list[Wish]:
    """A question to answer, or a quote to decide on."""
    if enquiry.state == Enquiry.State.ASKED_BACK:
        url = reverse("portal:enquiry", args=[enquiry.token])
        return [Wish(_("Answer the workshop's question"), "", url, enquiry.number)]
    quote = enquiry.series.revisions.filter(state=Quote.State.SENT).first() if enquiry.series else None
    if quote is None:
        return []
    until = _("open until %(day)s") % {"day": day(quote.expires_at)}
    return [Wish(_("Decide on a quote"), until, reverse("portal:quote", args=[quote.token]), quote.reference)]
