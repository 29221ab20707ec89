"""The plan for calendar programs, behind a secret address."""

from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from orders.models import CalendarLink
from orders.services.feed import feed as feed_of


@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponse:
    """The calendar of an open link; whoever has the address may read it, and a revoked one is not there."""
    link = CalendarLink.objects.filter(token=token, revoked_at=None).select_related("person").first()
    if link is None:
        raise Http404
    body = feed_of(link, today=timezone.localdate(), now=timezone.now())
    return HttpResponse(
        body,
        content_type="text/calendar; charset=utf-8",
        headers={
            "Content-Disposition": 'inline; filename="plan.ics"',
            "Cache-Control": "private, max-age=300",
            "X-Robots-Tag": "noindex",
        },
    )
