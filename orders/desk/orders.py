"""Orders at the desk: the list, and one order with what it waits on, its money, its build and its papers."""

from typing import Any

from django.contrib import messages as notes
from django.core.paginator import Paginator
from django.db.models import OuterRef, Q, QuerySet, Subquery
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.doing import at_field, do
from orders.desk.forms import TransferForm
from orders.desk.roles import open_to
from orders.models import ForecastHistory, Invoice, Order, PaymentRequest, Propeller
from orders.pictures import engineering_of_quote, plan_of
from orders.refusal import Refused
from orders.services import approval, dispatch, drawings, invoice, messages, payment, queue
from orders.services.documents import papers_of
from orders.services.release import findings_of
from orders.who import somebody
from quoting.propeller.finding import Severity
from quoting.services.quotes import specification_of

SHOWN = 40
ENDED = [Order.State.DISPATCHED, Order.State.CANCELLED]


def asked_for(rows: QuerySet[Order], state: str, find: str) -> QuerySet[Order]:
    """Orders in a state ("" for open ones, "all" for all) that match the words typed."""
    if not state:
        rows = rows.exclude(state__in=ENDED)
    elif state != "all":
        rows = rows.filter(state=state)
    if find:
        rows = rows.filter(
            Q(number__icontains=find) | Q(customer__name__icontains=find) | Q(title__icontains=find)
        )
    return rows


@open_to("bookkeeper")
def orders(request: HttpRequest) -> HttpResponse:
    """The list, by promise; each open order with its latest forecast beside its promise."""
    state = request.GET.get("state", "")
    find = request.GET.get("find", "").strip()[:80]
    latest = ForecastHistory.objects.filter(order=OuterRef("pk")).order_by("-at", "-id")
    rows = Order.objects.select_related("customer").annotate(
        forecast_day=Subquery(latest.values("plan_on")[:1])
    )
    rows = asked_for(rows, state, find).order_by("promise", "number")
    query = request.GET.copy()
    query.pop("page", None)
    return render(
        request,
        "desk/orders.html",
        {
            "page": Paginator(rows, SHOWN).get_page(request.GET.get("page")),
            "states": Order.State.choices,
            "state": state,
            "find": find,
            "query": f"{query.urlencode()}&" if query else "",
        },
    )


@open_to("bookkeeper", "bench")
def order(request: HttpRequest, number: str) -> HttpResponse:
    """One order."""
    return order_page(
        request, get_object_or_404(Order.objects.select_related("customer", "quote"), number=number)
    )


def order_page(
    request: HttpRequest, row: Order, transfer: TransferForm | None = None, status: int = 200
) -> HttpResponse:
    who = somebody(request.user)
    requests = list(row.payment_requests.order_by("asked_at"))
    owing = [r for r in requests if not r.is_settled]
    may_book = bool(who.roles & {"owner", "bookkeeper"})
    if transfer is None and owing and may_book:
        transfer = transfer_form(row, owing)
    units = request.COOKIES.get("units", "in")
    plan = plan_of(specification_of(row.quote), units)
    propellers = list(row.propellers.prefetch_related("stages__records"))
    for propeller in propellers:
        tell_release(propeller)
    context: dict[str, Any] = {
        "order": row,
        "now": timezone.now(),
        "next_step": next_step(row),
        "drawing": mark_safe(plan.wide),  # noqa: S308 -- drawn by quoting.propeller.drawing, customer text escaped
        "requests": requests,
        "payments": row.payments.order_by("received_on", "id"),
        "transfer": transfer,
        "approvals": row.approvals.order_by("kind", "revision"),
        "forecast": row.forecasts.order_by("-at", "-id").first() if row.is_open else None,
        "moves": row.forecasts.order_by("-at")[:20],
        "propellers": propellers,
        "invoice": row.invoices.filter(type_code=Invoice.TypeCode.INVOICE).first(),
        "papers": papers_of(row).exclude(kind__in=drawings.VARIANTS),
        "drawn": drawings.standing(row.quote),
        "engineering": engineering_of_quote(row.quote, units),
        "drawing_compact": plan.compact,
        "talk": row.messages.order_by("written_at"),
        "may_decide": "owner" in who.roles,
        "may_record": bool(who.roles & {"owner", "bench"}),
    }
    return render(request, "desk/order.html", context, status=status)


def tell_release(propeller: Propeller) -> None:
    """Hang on the propeller what the page shows: minutes recorded by stage, and what stands against release."""
    for stage in propeller.stages.all():
        stage.recorded = sum(record.minutes for record in stage.records.all()) or None
    if propeller.state == Propeller.State.IN_WORK:
        inspect = next((s for s in propeller.stages.all() if s.key == "inspect"), None)
        found = findings_of(propeller)
        free = all(f.severity is not Severity.STOP for f in found)
        propeller.may_release = free and inspect is not None and inspect.state != "done"
        propeller.inspect_stage = inspect


def next_step(row: Order) -> str:
    """What the order waits on, in one sentence."""
    state = Order.State
    if row.state == state.WAITING:
        names = {"deposit": _("the deposit"), "drawing": _("the customer's approval of the drawing")}
        waits = _(" and ").join(names.get(w, w) for w in queue.waits_on(row))
        return _("Waits on %(what)s before it joins the queue.") % {"what": waits}
    if row.state == state.QUEUED:
        return _("In the queue: the bench begins when its turn comes.")
    if row.state == state.ON_THE_BENCH:
        return _("On the bench.")
    if row.state == state.HELD:
        return _("Held by the owner.")
    if row.state == state.READY:
        hindrances = dispatch.hindrances(row)
        return (
            _("Ready. Before dispatch: %(what)s.") % {"what": "; ".join(hindrances)}
            if hindrances
            else _("Ready to go.")
        )
    return _("Dispatched.") if row.state == state.DISPATCHED else _("Cancelled.")


def transfer_form(row: Order, owing: list[PaymentRequest], data: Any = None) -> TransferForm:
    choices = [(r.reference, f"{r.get_kind_display()} {r.reference}") for r in owing]
    return TransferForm(
        data, choices=choices, currency=row.currency, initial={"received_on": timezone.localdate()}
    )


@require_POST
@open_to("bookkeeper")
def transfer(request: HttpRequest, number: str) -> HttpResponse:
    """Record a bank transfer."""
    row = get_object_or_404(Order, number=number)
    owing = [r for r in row.payment_requests.all() if not r.is_settled]
    form = transfer_form(row, owing, request.POST)
    if not form.is_valid():
        return order_page(request, row, form, status=422)
    asked = row.payment_requests.get(reference=form.cleaned_data["request"])
    try:
        payment.record_bank_transfer(
            somebody(request.user),
            asked,
            form.cleaned_data["amount"].minor,
            bank_reference=form.cleaned_data["bank_reference"],
            received_on=form.cleaned_data["received_on"],
            today=timezone.localdate(),
            now=timezone.now(),
        )
    except Refused as refused:
        at_field(form, refused)
        return order_page(request, row, form, status=422)
    notes.success(request, _("The transfer is in the books."))
    return redirect("desk:order", number)


@require_POST
@open_to()
def hold(request: HttpRequest, number: str) -> HttpResponse:
    row = get_object_or_404(Order, number=number)
    reason = request.POST.get("reason", "")[:500]
    return do(
        request,
        lambda: queue.hold(somebody(request.user), row, reason=reason, now=timezone.now()),
        _("The order is held."),
        "desk:order",
        number,
    )


@require_POST
@open_to()
def resume(request: HttpRequest, number: str) -> HttpResponse:
    row = get_object_or_404(Order, number=number)
    return do(
        request,
        lambda: queue.release_hold(somebody(request.user), row, now=timezone.now()),
        _("The order goes on."),
        "desk:order",
        number,
    )


@require_POST
@open_to()
def cancel(request: HttpRequest, number: str) -> HttpResponse:
    """Cancel and give everything back by transfer; what the terms let the shop keep is agreed before, by message."""
    row = get_object_or_404(Order, number=number)
    return do(
        request,
        lambda: queue.cancel_order(
            somebody(request.user),
            row,
            reason=request.POST.get("reason", "")[:500],
            retained=0,
            provider="bank",
            today=timezone.localdate(),
            now=timezone.now(),
        ),
        _("The order is cancelled; what was paid is to be given back."),
        "desk:order",
        number,
    )


@require_POST
@open_to()
def ask_again(request: HttpRequest, number: str, kind: str) -> HttpResponse:
    """Show the customer a new revision of the drawing or the mock-up."""
    row = get_object_or_404(Order, number=number)
    last = get_object_or_404(row.approvals.filter(kind=kind).order_by("-revision")[:1])
    return do(
        request,
        lambda: approval.ask_for_approval(
            somebody(request.user),
            row,
            kind,
            last.shown,
            note=request.POST.get("note", "")[:500],
            now=timezone.now(),
        ),
        _("The customer is asked again."),
        "desk:order",
        number,
    )


@require_POST
@open_to()
def issue(request: HttpRequest, number: str) -> HttpResponse:
    """Issue the invoice and ask for the balance."""
    row = get_object_or_404(Order, number=number)
    return do(
        request,
        lambda: invoice.issue_invoice(
            somebody(request.user), row, today=timezone.localdate(), now=timezone.now()
        ),
        _("The invoice is issued and the balance asked for."),
        "desk:order",
        number,
    )


@require_POST
@open_to()
def send_off(request: HttpRequest, number: str) -> HttpResponse:
    """Dispatch the order."""
    row = get_object_or_404(Order, number=number)
    return do(
        request,
        lambda: dispatch.dispatch_order(
            somebody(request.user),
            row,
            carrier=request.POST.get("carrier", "").strip()[:120],
            tracking=request.POST.get("tracking", "").strip()[:120],
            today=timezone.localdate(),
            now=timezone.now(),
        ),
        _("Dispatched, with record and care sheet."),
        "desk:order",
        number,
    )


@require_POST
@open_to()
def answer(request: HttpRequest, number: str) -> HttpResponse:
    """Write to the customer."""
    row = get_object_or_404(Order, number=number)
    return do(
        request,
        lambda: messages.write_to_customer(
            somebody(request.user), row, body=request.POST.get("body", ""), now=timezone.now()
        ),
        _("Sent."),
        "desk:order",
        number,
    )


@open_to("bench")
def release_stage(request: HttpRequest, number: str, position: int) -> HttpResponse:
    """Where a propeller is released: the page of its inspection."""
    propeller = get_object_or_404(Propeller, order__number=number, position=position)
    return redirect("desk:stage", propeller.stages.get(key="inspect").pk)
