"""My propellers: everything of one signed-in customer."""

from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.db.models import F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from orders import access
from orders.models import Enquiry, Order, PaymentRequest
from portal.facts import title_of
from portal.following import late_of
from portal.templatetags.sheet import day
from portal.views.enquiry import newest_quote
from portal.views.enquiry import standing as standing_of_enquiry
from portal.views.order import ORDER_SHAPES, state_word
from portal.wanted import Wish, wanted_from
from quoting.models import Quote
from quoting.services.answers import read_again

SHOWN = 20
DECIDING = (Enquiry.State.ASKED_BACK, Enquiry.State.QUOTED)


@login_required
@require_safe
def mine(request: HttpRequest) -> HttpResponse:
    """First what is wanted, then orders, then quotes and enquiries."""
    customer = access.customer_of(request.user)
    orders = access.own_rows(request.user, Order)
    asked = access.own_rows(request.user, Enquiry).filter(order=None).select_related("series")
    wanted = [wish for order in wishing(orders) for wish in wanted_from(order)]
    wanted += [wish for enquiry in asked.filter(state__in=DECIDING) for wish in wanted_on(enquiry)]
    page = Paginator(orders.order_by("-accepted_at", "-id"), SHOWN).get_page(request.GET.get("page"))
    enquiries = Paginator(asked.order_by("-created_at", "-id"), SHOWN).get_page(request.GET.get("asked"))
    context = {
        "customer": customer,
        "wanted": wanted,
        "page": page,
        "enquiries": enquiries,
        "orders": [order_row(order) for order in page.object_list],
        "asked": [enquiry_row(enquiry) for enquiry in enquiries.object_list],
    }
    return render(request, "portal/mine.html", context)


def wishing(orders: QuerySet[Order]) -> QuerySet[Order]:
    """The orders that may want something: those under way, and those sent off on account and not paid for."""
    received = Coalesce(Sum("payments__amount"), 0)
    owing = PaymentRequest.objects.annotate(received=received).filter(amount__gt=F("received"))
    under_way = ~Q(state__in=[Order.State.DISPATCHED, Order.State.CANCELLED])
    on_account = Q(state=Order.State.DISPATCHED, pk__in=owing.values("order"))
    return orders.filter(under_way | on_account).order_by("-accepted_at")


def order_row(order: Order) -> dict[str, str]:
    when = day(order.dispatched_at) if order.dispatched_at else ""
    if order.promise and order.is_open:
        when = _("promised %(day)s") % {"day": day(order.promise)}
    return {
        "url": reverse("portal:own_order", args=[order.number]),
        "title": order.title,
        "number": order.number,
        "shape": ORDER_SHAPES[Order.State(order.state)],
        "word": state_word(order),
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
