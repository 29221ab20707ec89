"""What every page of one person carries: it is private and kept by nobody's cache."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils.cache import add_never_cache_headers


def private_pages(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Mark every page of a signed-in person, and every page reached by a secret link, private and not stored."""

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        by_link = "token" in (request.resolver_match.kwargs if request.resolver_match else {})
        if request.user.is_authenticated or by_link:
            add_never_cache_headers(response)
        if by_link:
            response.headers["Referrer-Policy"] = "no-referrer"
        return response

    return middleware
