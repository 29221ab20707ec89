"""What every page knows: the workshop's name, whether this is the demonstration, units, and the pages of one's role."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse
from django.utils.functional import SimpleLazyObject
from django.utils.translation import gettext as _

from orders.models import Workshop
from orders.who import BENCH, BOOKKEEPER, OWNER, somebody


def workshop_name(request: HttpRequest) -> str:
    """The seller's name, or the service's own while nothing has been entered."""
    row: Workshop | None = getattr(request, "workshop", None)
    return row.name if row else "Airscrew Daybook"


def pages_for(request: HttpRequest) -> list[tuple[str, str]]:
    """Address names and labels, in the order they stand in the navigation."""
    user = getattr(request, "user", None)
    signed_in = user is not None and user.is_authenticated
    roles = somebody(user).roles if signed_in else frozenset()
    if OWNER in roles:
        return [
            ("desk:morning", _("Morning sheet")),
            ("desk:enquiries", _("Enquiries")),
            ("desk:orders", _("Orders")),
            ("desk:bench", _("Bench")),
            ("desk:plan", _("Plan")),
            ("desk:shop", _("Shop")),
            ("desk:register", _("Register")),
            ("desk:books", _("Books")),
            ("desk:price-books", _("Price book")),
            ("account_logout", _("Sign out")),
        ]
    if BENCH in roles:
        return [
            ("desk:bench", _("Today's work")),
            ("desk:plan", _("Plan")),
            ("desk:register", _("Register")),
            ("account_logout", _("Sign out")),
        ]
    if BOOKKEEPER in roles:
        return [
            ("desk:books", _("Books")),
            ("desk:orders", _("Orders")),
            ("account_logout", _("Sign out")),
        ]
    asking = ("portal:ask", _("Ask for a propeller"))
    if signed_in:
        return [asking, ("portal:mine", _("My propellers")), ("account_logout", _("Sign out"))]
    return [asking, ("account_request_login_code", _("Sign in"))]


def navigation(request: HttpRequest) -> list[dict[str, Any]]:
    """The pages of one's role that this installation has, the present one marked."""
    entries = []
    for name, label in pages_for(request):
        try:
            url = reverse(name)
        except NoReverseMatch:
            continue
        entries.append({"url": url, "label": label, "here": request.path == url})
    return entries


def workshop(request: HttpRequest) -> dict[str, Any]:
    """Template context of every page."""
    units = request.COOKIES.get("units")
    return {
        "workshop_name": workshop_name(request),
        "demo": settings.DEMO,
        "units": units if units in ("in", "mm") else "in",
        "navigation": SimpleLazyObject(lambda: navigation(request)),
    }
