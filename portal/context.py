"""What every page knows: the workshop's name, whether this is the demonstration, units and language."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest


def workshop(request: HttpRequest) -> dict[str, Any]:
    """Template context of every page."""
    return {
        "workshop_name": getattr(settings, "WORKSHOP_NAME", "Airscrew Daybook"),
        "demo": settings.DEMO,
        "units": request.COOKIES.get("units", "in"),
    }
