"""The reader's choice of units."""

from django.http import HttpRequest


def units_of(request: HttpRequest) -> str:
    """Inches unless the cookie says millimetres."""
    return "mm" if request.COOKIES.get("units") == "mm" else "in"
