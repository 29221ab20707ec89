"""Pages that are the same for everybody: the front page, the terms, the switch of units, the demo's mail tray."""

from functools import lru_cache

from django.conf import settings
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import redirect, render
from django.templatetags.static import static
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST, require_safe

from orders.models import Mail, Workshop
from orders.terms import clauses
from portal.views.units import remember_units, units_of
from quoting.propeller.blade import Blade
from quoting.propeller.catalogue import Hand, Position
from quoting.propeller.drawing.lettering import Units
from quoting.propeller.drawing.plan import Wood, propeller_svg
from quoting.services.pricebook import NoPriceBook, current_book


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """What the workshop does and where to begin, under a drawing from the same geometry as every quote."""
    return render(request, "portal/home.html", {"drawing": showpiece(units_of(request))})


@require_safe
def favicon(request: HttpRequest) -> HttpResponse:
    """The mark, for browsers that look for it without reading the page."""
    return redirect(static("portal/mark.svg"))


@lru_cache(maxsize=4)
def showpiece(units: Units) -> str:
    """A propeller of a usual size, to scale; no order's."""
    blade = Blade.wooden(diameter=1.8288, pitch=1.1176)
    birch = Wood("#e2c79a", 0.019)
    return propeller_svg(
        blade,
        0.152,
        0.095,
        None,
        hand=Hand.RIGHT,
        position=Position.TRACTOR,
        units=units,
        wood=birch,
        name="home",
    )


@require_safe
def terms(request: HttpRequest) -> HttpResponse:
    """The terms of a quote made today; those of a quote that is out are on its own page, with its own figures."""
    workshop = Workshop.objects.first()
    version = workshop.terms_version if workshop else ""
    try:
        found = clauses(current_book(timezone.localdate()))
    except NoPriceBook:
        found = ()
    return render(request, "portal/terms.html", {"terms": found, "version": version})


@require_POST
def units(request: HttpRequest) -> HttpResponse:
    """Remember inches or millimetres in a cookie and go back to the page one came from."""
    chosen = request.POST.get("units", "")
    if chosen not in ("in", "mm"):
        return HttpResponseBadRequest("units must be in or mm")
    back = request.POST.get("next", "/")
    if not url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()}):
        back = "/"
    response = redirect(back)
    remember_units(response, chosen)
    return response


@require_safe
def mail(request: HttpRequest) -> HttpResponse:
    """The local tray of the demonstration: what would have been mailed. Anywhere else there is no such page."""
    if not settings.DEMO:
        raise Http404
    page = Paginator(Mail.objects.all(), 40).get_page(request.GET.get("page"))
    return render(request, "portal/mail.html", {"page": page})
