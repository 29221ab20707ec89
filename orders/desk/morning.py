"""The morning sheet: what needs a decision today, most pressing first."""

from datetime import date

from django.db.models import F, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.doing import do
from orders.desk.roles import open_to
from orders.models import (
    Approval,
    Enquiry,
    ForecastHistory,
    Mail,
    Message,
    Order,
    OutboxJob,
    PaymentRequest,
    PlanVersion,
    ProviderEvent,
)
from orders.services import failed_jobs, mail
from orders.services.glance import at_a_glance, glance_of
from orders.services.owed import orders_owed
from orders.services.planned import standing
from orders.who import somebody
from quoting.models import Quote
from quoting.services.outlook import latest_outlook

SHOWN = 40
"""Rows of a list at most; the pages of orders and enquiries hold them all."""


@open_to()
def morning(request: HttpRequest) -> HttpResponse:
    """What waits for the owner, what is late, what went wrong overnight."""
    now = timezone.now()
    today = timezone.localdate()
    open_orders = Order.objects.exclude(state__in=[Order.State.DISPATCHED, Order.State.CANCELLED])
    ready = list(open_orders.filter(state=Order.State.READY).select_related("customer").order_by("promise"))
    late = open_orders.filter(promise__lt=today).exclude(state__in=[Order.State.READY, Order.State.HELD])
    new = Enquiry.objects.filter(state=Enquiry.State.NEW).order_by("created_at")
    return render(
        request,
        "desk/morning.html",
        {
            "today": today,
            "now": now,
            "enquiries": [glance_of(row) for row in at_a_glance(new)],
            "asked_back": Enquiry.objects.filter(state=Enquiry.State.ASKED_BACK).select_related("customer"),
            "quotes": Quote.objects.filter(state=Quote.State.SENT)
            .select_related("series__enquiry__customer")
            .defer("typed", "specification", "results", "series__enquiry__estimate")
            .order_by("expires_at")[:SHOWN],
            "late": late.select_related("customer").order_by("promise"),
            "will_be_late": will_be_late(today),
            "outlook": latest_outlook(now),
            "standing": standing(now),
            "held": open_orders.filter(state=Order.State.HELD).select_related("customer"),
            "changes": Approval.objects.filter(
                state=Approval.State.CHANGES_WANTED, order__in=open_orders
            ).select_related("order"),
            "unpaid": unpaid(open_orders),
            "unanswered": unanswered(),
            "owed": orders_owed(),
            "ready": ready,
            "quarantined": ProviderEvent.objects.filter(state=ProviderEvent.State.QUARANTINED),
            "dead_jobs": failed_jobs.failed(),
            "job_names": failed_jobs.NAMES,
            "mail_refused": Mail.objects.filter(state=Mail.State.DEAD),
            "mail_not_sent": mail.not_sent(now),
            "plan": PlanVersion.objects.filter(current=True).defer("plan", "snapshot").first(),
        },
    )


@require_POST
@open_to()
def mail_again(request: HttpRequest) -> HttpResponse:
    """Try the mails that wait at once."""
    return do(
        request,
        lambda: mail.send_now(somebody(request.user), now=timezone.now()),
        _("The waiting mails are being sent; this sheet tells if they are refused again."),
        "desk:morning",
    )


@require_POST
@open_to()
def job_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Try a background job again that was given up."""
    job = get_object_or_404(OutboxJob, pk=pk)
    return do(
        request,
        lambda: failed_jobs.try_again(somebody(request.user), job, now=timezone.now()),
        _("It is tried again; this sheet tells if it fails once more."),
        "desk:morning",
    )


def unpaid(open_orders: QuerySet[Order]) -> list[PaymentRequest]:
    """What open orders still owe, soonest due first; `owed` holds the minor units that are open."""
    received = Coalesce(Sum("payments__amount"), 0)
    rows = (
        PaymentRequest.objects.filter(order__in=open_orders)
        .annotate(owed=F("amount") - received)
        .filter(owed__gt=0)
        .select_related("order__customer")
        .order_by("due_on", "id")
    )
    return list(rows[:SHOWN])


def unanswered() -> list[Message]:
    """Of each talk about an order or a quote that ends with the customer's word that word, longest waiting first."""
    same = Q(order=OuterRef("order"), order__isnull=False) | Q(enquiry=OuterRef("enquiry"), order=None)
    newest = Message.objects.filter(same).order_by("-written_at", "-id")
    rows = Message.objects.filter(pk=Subquery(newest.values("pk")[:1]), side=Message.Side.CUSTOMER)
    # a new enquiry is reviewed with its messages, and an order's talk goes on at the order
    rows = rows.filter(
        Q(order__isnull=False) | Q(enquiry__state=Enquiry.State.QUOTED, enquiry__order__isnull=True)
    )
    return list(rows.select_related("order", "enquiry").order_by("written_at")[:SHOWN])


def will_be_late(today: date) -> list[ForecastHistory]:
    """Promises still to come that fewer than four futures in five keep, by the plan that stands; soonest first."""
    rows = ForecastHistory.objects.filter(
        plan__current=True, plan_on__gt=F("order__promise"), order__promise__gte=today
    ).exclude(order__state__in=[Order.State.READY, Order.State.DISPATCHED, Order.State.CANCELLED])
    return list(rows.select_related("order__customer").order_by("order__promise"))
