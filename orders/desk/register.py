"""The register: every serial number ever stamped, with its build record."""

from django.core.paginator import Paginator
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from orders.desk.roles import open_to
from orders.models import Propeller

SHOWN = 50


@open_to("bench", "bookkeeper")
def register(request: HttpRequest) -> HttpResponse:
    """All propellers with a serial number, newest first; `find` matches serial, order, customer or title."""
    find = request.GET.get("find", "").strip()[:80]
    rows = (
        Propeller.objects.filter(serial__isnull=False).select_related("order__customer").order_by("-serial")
    )
    if find:
        rows = rows.filter(
            Q(serial__icontains=find)
            | Q(order__number__icontains=find)
            | Q(order__customer__name__icontains=find)
            | Q(order__title__icontains=find)
        )
    page = Paginator(rows, SHOWN).get_page(request.GET.get("page"))
    return render(request, "desk/register.html", {"page": page, "find": find})


@open_to("bench", "bookkeeper")
def propeller(request: HttpRequest, serial: str) -> HttpResponse:
    """One propeller's build record: every stage, who, how long, what was measured."""
    row = get_object_or_404(
        Propeller.objects.select_related("order__customer", "order__quote"), serial=serial
    )
    stages = row.stages.prefetch_related("records__person").order_by("position")
    return render(request, "desk/propeller.html", {"propeller": row, "order": row.order, "stages": stages})
