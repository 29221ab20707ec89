"""The reader's choice of units."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from quoting.propeller.drawing.lettering import Units

YEAR = 365 * 24 * 3600


def units_of(request: HttpRequest) -> Units:
    """Inches unless the cookie says millimetres."""
    return "mm" if request.COOKIES.get("units") == "mm" else "in"


def remember_units(response: HttpResponse, chosen: str) -> None:
    """Keep the choice in a cookie for a year."""
    response.set_cookie("units", chosen, max_age=YEAR, samesite="Lax", secure=settings.SESSION_COOKIE_SECURE)
