"""How much may come through the open doors: ACCOUNT_RATE_LIMITS for all processes together, typing in each for itself."""

from typing import cast

from allauth.core import ratelimit
from django import forms
from django.contrib import messages
from django.core.cache import caches
from django.http import HttpRequest
from django.utils.translation import gettext as _
from rest_framework.request import Request
from rest_framework.throttling import AnonRateThrottle
from rest_framework.views import APIView

from orders.models import Workshop
from orders.refusal import Refused


class OftenEnough(AnonRateThrottle):
    """As many answers a minute as somebody typing can use; counted in each web process for itself, which costs nothing."""

    rate = "120/min"
    cache = caches["here"]


def typing_too_fast(request: HttpRequest) -> bool:
    """Count one more answer to what is typed; True when it is not to be worked out."""
    return not OftenEnough().allow_request(cast(Request, request), APIView())


def too_often() -> str:
    """What is said where something was not done, with another way to the workshop."""
    address = Workshop.objects.values_list("email", flat=True).first() or _("the workshop")
    return _(
        "That is more than we take at a time, so this was not sent. What you typed is still here: "
        "try again in an hour, or write to %(address)s."
    ) % {"address": address}


def held_back(request: HttpRequest, form: forms.Form, field: str | None, limit: str, key: str) -> bool:
    """Count one more by `limit`; above it, say so at `field` of the form, or above the page when None, and return True."""
    if ratelimit.consume(request, action=limit, key=key):
        return False
    if field is None:
        messages.warning(request, too_often())
    else:
        form.add_error(field, too_often())
    return True


def or_refuse(request: HttpRequest, limit: str, key: str) -> None:
    """Count one more by `limit`; raises Refused (429) above it."""
    if not ratelimit.consume(request, action=limit, key=key):
        raise Refused("too-often", too_often(), status=429)
