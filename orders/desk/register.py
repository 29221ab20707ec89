"""The register: every serial number ever stamped, with its build record."""

from django.core.paginator import Paginator
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.build_forms import RetireForm, form_of
from orders.desk.build_notes import notes
from orders.desk.doing import submitted
from orders.desk.roles import open_to
from orders.models import Propeller
from orders.services import register as service
from orders.services.redoing import decisions_on
from orders.who import OWNER, somebody

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


def the_propeller(serial: str) -> Propeller:
    return get_object_or_404(
        Propeller.objects.select_related("order__customer", "order__quote"), serial=serial
    )


@open_to("bench", "bookkeeper")
def propeller(request: HttpRequest, serial: str) -> HttpResponse:
    """One propeller's build record: every stage, who, how long, what was measured, and what was decided."""
    return propeller_page(request, the_propeller(serial))


def propeller_page(
    request: HttpRequest, row: Propeller, *, retire: RetireForm | None = None, status: int = 200
) -> HttpResponse:
    """The record, with a fresh form of retiring it or the one that was sent."""
    offered = OWNER in somebody(request.user).roles and row.state == Propeller.State.DISPATCHED
    context = {
        "propeller": row,
        "order": row.order,
        "stages": row.stages.prefetch_related("records__person").order_by("position"),
        "notes": notes(decisions_on(row)),
        "retire": form_of(RetireForm, retire, offered),
    }
    return render(request, "desk/propeller.html", context, status=status)


@require_POST
@open_to()
def retire(request: HttpRequest, serial: str) -> HttpResponse:
    """Retire a propeller that flies no more."""
    row = the_propeller(serial)
    return submitted(
        request,
        RetireForm(request.POST),
        lambda given: service.retire(
            somebody(request.user), row, cause=given["cause"], note=given["note"], now=timezone.now()
        ),
        _("The propeller is retired; the register says so."),
        lambda form: propeller_page(request, the_propeller(serial), retire=form, status=422),
        "desk:propeller",
        serial,
    )
