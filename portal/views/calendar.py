"""The plan, and the days of one order, for calendar programs, each behind a secret address."""

from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone, translation
from django.views.decorators.http import require_safe

from orders.models import CalendarLink
from orders.services.feed import feed as feed_of
from orders.services.order_feed import order_feed
from portal.following import order_of_calendar


@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponse:
    """The calendar of an open link; whoever has the address may read it, and a revoked one is not there."""
    link = CalendarLink.objects.filter(token=token, revoked_at=None).select_related("person").first()
    if link is None:
        raise Http404
    return answer(feed_of(link, today=timezone.localdate(), now=timezone.now()), "plan")


@require_safe
def of_order(request: HttpRequest, word: str) -> HttpResponse:
    """The days of one order, for its customer's own calendar."""
    order = order_of_calendar(word)
    if order is None:
        raise Http404
    with translation.override(order.customer.language):
        return answer(order_feed(order, now=timezone.now()), order.number)


def answer(body: bytes, name: str) -> HttpResponse:
    return HttpResponse(
        body,
        content_type="text/calendar; charset=utf-8",
        headers={
            "Content-Disposition": f'inline; filename="{name}.ics"',
            "Cache-Control": "private, max-age=300",
            "X-Robots-Tag": "noindex",
        },
    )
