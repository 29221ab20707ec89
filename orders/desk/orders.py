"""Orders at the desk: the list, and one order with what it waits on, its money, its build and its papers."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.paginator import Paginator
from django.db.models import OuterRef, Q, QuerySet, Subquery
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _

from orders.desk.money_forms import money_forms
from orders.desk.order_forms import (
    CancelForm,
    ChangeFeeForm,
    DispatchForm,
    FreightForm,
    HoldForm,
    NoteForm,
    transfer_form,
)
from orders.desk.review_forms import WriteForm
from orders.desk.roles import open_to
from orders.models import Approval, ForecastHistory, Invoice, Order, Propeller, Stage
from orders.pictures import engineering_of_quote, plan_of, state_of_drawing
from orders.services import charges, dispatch, drawings, queue
from orders.services.documents import papers_for
from orders.services.forecast_moves import told_of
from orders.services.lessons import freight_of
from orders.services.messages import talk_about
from orders.services.release import findings_of
from orders.who import Who, somebody
from quoting.propeller.build import INSPECTION
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
    wanted = asked_for(Order.objects.select_related("customer"), state, find)
    rows = wanted.annotate(forecast_day=Subquery(latest.values("plan_on")[:1])).order_by("promise", "number")
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
        request,
        get_object_or_404(
            Order.objects.select_related("customer", "quote__series", "enquiry"), number=number
        ),
    )


def order_page(request: HttpRequest, row: Order, *, status: int = 200, **given: Any) -> HttpResponse:
    """The page with fresh forms, or those given back with what was typed and their errors."""
    row.refresh_from_db()
    who = somebody(request.user)
    units = request.COOKIES.get("units", "in")
    plan = plan_of(specification_of(row.quote), units)
    wrong = next((form for form in given.values() if isinstance(form, forms.Form) and form.errors), None)
    context: dict[str, Any] = {
        "order": row,
        "now": timezone.now(),
        "next_step": next_step(row),
        "wrong": wrong,
        "drawing": mark_safe(plan.wide),  # noqa: S308 -- drawn by quoting.propeller.drawing, customer text escaped
        "requests": list(row.payment_requests.order_by("asked_at")),
        "payments": row.payments.order_by("received_on", "id"),
        "confirmations": row.confirmations.all(),
        "approvals": approvals_of(row, given.pop("note", None)),
        "told": told_of(row),
        "builds": [build_of(p) for p in row.propellers.prefetch_related("stages__records")],
        "invoice": row.invoices.filter(type_code=Invoice.TypeCode.INVOICE).first(),
        "papers": papers_for(who, row).exclude(kind__in=drawings.VARIANTS),
        "drawn": drawings.standing(row.quote),
        "engineering": engineering_of_quote(row.quote, units, state=state_of_drawing(row)),
        "drawing_compact": plan.compact,
        "talk": talk_about(row),
        "charges": row.charges.all(),
        "storage": charges.storage_of(row, timezone.localdate()),
        "outcome": freight_of(row),
        "may_decide": "owner" in who.roles,
        "may_book": bool(who.roles & {"owner", "bookkeeper"}),
        "may_record": bool(who.roles & {"owner", "bench"}),
        **order_forms(row, who),
        **money_forms(row, who),
    }
    return render(request, "desk/order.html", context | given, status=status)


def approvals_of(row: Order, sent: NoteForm | None) -> list[Approval]:
    """Drawing and mock-up by revision; where changes are wanted with a form for asking again, or the one `sent` back."""
    rows = list(row.approvals.order_by("kind", "revision"))
    for asked in rows:
        if asked.state == Approval.State.CHANGES_WANTED:
            fresh = NoteForm(auto_id=f"note-{asked.pk}-%s")
            asked.note_form = sent if sent is not None and sent.kind == asked.kind else fresh  # type: ignore[attr-defined]
    return rows


def order_forms(row: Order, who: Who) -> dict[str, Any]:
    """Fresh forms of what may be done now."""
    found: dict[str, Any] = {"write": WriteForm(), "hold": HoldForm()}
    if who.roles & {"owner", "bookkeeper"} and row.payment_requests.exists():
        found["transfer"] = transfer_form(row)
    if row.is_open:
        terms = charges.on_cancelling(row)
        found |= {"cancel": CancelForm(terms=terms), "cancelling": terms}
    if charges.may_charge_change(row):
        found["change_fee"] = ChangeFeeForm(fee=charges.change_fee(row))
    if row.state == Order.State.READY:
        unpaid = any(h in (dispatch.UNPAID, dispatch.UNSTORED) for h in dispatch.hindrances(row))
        found["send_off"] = DispatchForm(currency=row.currency, unpaid=unpaid)
    if row.state == Order.State.DISPATCHED:
        found["freight"] = FreightForm(currency=row.currency)
    return found


@dataclass(frozen=True, slots=True)
class Build:
    """One propeller as the page shows it: its stages with the minutes recorded, and whether it may be released."""

    article: Propeller
    stages: list[tuple[Stage, int | None]]
    estimated: int
    recorded: int | None
    may_release: bool


def build_of(propeller: Propeller) -> Build:
    """Minutes estimated and recorded, stage by stage and together; released when no stop stands."""
    stages = list(propeller.stages.all())
    recorded = [sum(record.minutes for record in stage.records.all()) for stage in stages]
    may_release = False
    if propeller.state == Propeller.State.IN_WORK:
        free = all(f.severity is not Severity.STOP for f in findings_of(propeller))
        may_release = free and any(s.key == INSPECTION and s.state != Stage.State.DONE for s in stages)
    return Build(
        propeller,
        [(stage, minutes or None) for stage, minutes in zip(stages, recorded, strict=True)],
        sum(stage.minutes for stage in stages),
        sum(recorded) or None,
        may_release,
    )


def next_step(row: Order) -> str:
    """What the order waits on, in one sentence."""
    state = Order.State
    if row.state == state.WAITING:
        names = {
            "deposit": _("the deposit"),
            "answers": _("the customer's answers, or a revision that takes them in"),
            "drawing": _("the customer's approval of the drawing"),
        }
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


@open_to("bench")
def release_stage(request: HttpRequest, number: str, position: int) -> HttpResponse:
    """Where a propeller is released: the page of its inspection."""
    propeller = get_object_or_404(Propeller, order__number=number, position=position)
    return redirect("desk:stage", propeller.stages.get(key=INSPECTION).pk)
