"""The reader's choice of units."""

from django.http import HttpRequest

from quoting.propeller.drawing.lettering import Units


def units_of(request: HttpRequest) -> Units:
    """Inches unless the cookie says millimetres."""
    return "mm" if request.COOKIES.get("units") == "mm" else "in"
