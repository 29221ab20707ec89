"""Two rules for every answer: pages of one person are private, and a refused step is told in plain words."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils.cache import add_never_cache_headers

from orders.models import Workshop
from orders.refusal import Refused
from orders.services.workshop_time import in_zone_of


def workshop_time(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Answer in the workshop's time zone: today is its day, whoever asks from wherever.

    The row read for it is kept on the request for the name that every page carries.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        row = Workshop.objects.only("name", "timezone").first()
        request.workshop = row  # type: ignore[attr-defined]
        with in_zone_of(row):
            return get_response(request)

    return middleware


def private_pages(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Mark every page of a signed-in person, and every page reached by a secret link, private and not stored.

    A view that has said itself how long its answer may be kept, as the calendar's, is left alone.
    The site's referrer policy "same-origin" keeps the link from other sites. A stricter "no-referrer" would make
    browsers send the origin "null" with the page's own forms, which the forgery check rightly refuses.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        by_link = "token" in (request.resolver_match.kwargs if request.resolver_match else {})
        if not response.has_header("Cache-Control") and (request.user.is_authenticated or by_link):
            add_never_cache_headers(response)
        return response

    return middleware


class Refusals:
    """Turns a `Refused` that no view has put at a field into a page, or JSON under /api/ and /webhooks/."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        if not isinstance(exception, Refused):
            return None
        if request.path.startswith(("/api/", "/webhooks/")):
            return JsonResponse(
                {"code": exception.code, "message": exception.message}, status=exception.status
            )
        return render(request, "portal/refused.html", {"refusal": exception}, status=exception.status)
