"""What the bookkeeper books: payouts of the card provider, tax remitted, months closed and opened, entries reversed."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.doing import submitted
from orders.desk.money_forms import CloseForm, PayoutForm, RemitForm, ReopenForm, ReverseForm
from orders.desk.roles import open_to
from orders.models import JournalEntry, Period
from orders.services import bookings, chart, journal
from orders.services.owed import orders_owed
from orders.who import somebody
from quoting.pricing.money import Money


@open_to("bookkeeper")
def money(request: HttpRequest) -> HttpResponse:
    """What is with the card provider, what tax is payable, and what customers are owed."""
    return money_page(request)


def money_page(request: HttpRequest, *, status: int = 200, **given: Any) -> HttpResponse:
    """The page with fresh forms, or the one given back with what was typed and its errors."""
    context = {
        "payout": PayoutForm(held=bookings.held_in(chart.CLEARING)),
        "remit": RemitForm(held=bookings.held_in(chart.TAX)),
        "owed": [(row, Money.from_minor(minor, row.currency)) for row, minor in orders_owed()],
        "now": timezone.now(),
    }
    return render(request, "desk/money.html", context | given, status=status)


@require_POST
@open_to("bookkeeper")
def payout(request: HttpRequest) -> HttpResponse:
    """Record a payout."""
    form = PayoutForm(request.POST, held=bookings.held_in(chart.CLEARING))
    return submitted(
        request,
        form,
        lambda given: bookings.record_payout(
            somebody(request.user), given["amount"], given["fee"] or Money.from_minor(0, form.currency),
            reference=given["reference"], paid_on=given["paid_on"], today=timezone.localdate(),
            now=timezone.now(),
        ),
        _("The payout is in the books."),
        lambda form: money_page(request, status=422, payout=form),
        "desk:money",
    )  # fmt: skip


@require_POST
@open_to("bookkeeper")
def remit(request: HttpRequest) -> HttpResponse:
    """Record tax paid to the authority."""
    return submitted(
        request,
        RemitForm(request.POST, held=bookings.held_in(chart.TAX)),
        lambda given: bookings.record_tax(
            somebody(request.user), given["amount"], reference=given["reference"], paid_on=given["paid_on"],
            today=timezone.localdate(), now=timezone.now(),
        ),
        _("The payment is in the books."),
        lambda form: money_page(request, status=422, remit=form),
        "desk:money",
    )  # fmt: skip


@open_to("bookkeeper")
def months(request: HttpRequest) -> HttpResponse:
    """Every month of the books, and the doors to close one and to open one again."""
    return months_page(request)


def months_page(request: HttpRequest, *, status: int = 200, **given: Any) -> HttpResponse:
    rows = list(Period.objects.order_by("-first_day"))
    context = {
        "months": rows,
        "closing": closing(None),
        "reopening": reopening(None) if any(m.state == Period.State.CLOSED for m in rows) else None,
        "now": timezone.now(),
    }
    return render(request, "desk/months.html", context | given, status=status)


def closing(data: Any) -> CloseForm:
    """A form over the open months, the earliest first."""
    return CloseForm(data, months=list(Period.objects.filter(state=Period.State.OPEN)))


def reopening(data: Any) -> ReopenForm:
    """A form over the closed months, the latest first."""
    closed = Period.objects.filter(state=Period.State.CLOSED).order_by("-first_day")
    return ReopenForm(data, months=list(closed))


@require_POST
@open_to("bookkeeper")
def close_month(request: HttpRequest) -> HttpResponse:
    """Close a month."""
    return submitted(
        request,
        closing(request.POST),
        lambda given: journal.close_period(
            somebody(request.user), given["month"], today=timezone.localdate(), now=timezone.now()
        ),
        _("The month is closed; nothing more is booked in it."),
        lambda form: months_page(request, status=422, closing=form),
        "desk:months",
    )


@require_POST
@open_to("bookkeeper")
def open_month(request: HttpRequest) -> HttpResponse:
    """Open a month again."""
    return submitted(
        request,
        reopening(request.POST),
        lambda given: journal.reopen_period(
            somebody(request.user), given["month"], reason=given["reason"], now=timezone.now()
        ),
        _("The month is open again; that is on record."),
        lambda form: months_page(request, status=422, reopening=form),
        "desk:months",
    )


@open_to("bookkeeper")
def entry(request: HttpRequest, number: int) -> HttpResponse:
    """One journal entry, and whether it may be reversed."""
    return entry_page(request, the_entry(number))


def the_entry(number: int) -> JournalEntry:
    return get_object_or_404(JournalEntry, number=number, posted=True)


def entry_page(request: HttpRequest, row: JournalEntry, *, status: int = 200, **given: Any) -> HttpResponse:
    context = {
        "entry": row,
        "lines": row.lines.select_related("account"),
        "mirror": JournalEntry.objects.filter(reverses=row).first(),
        "stays": bookings.why_not_reversed(row),
        "reverse": ReverseForm(),
        "now": timezone.now(),
    }
    return render(request, "desk/entry.html", context | given, status=status)


@require_POST
@open_to("bookkeeper")
def reverse(request: HttpRequest, number: int) -> HttpResponse:
    """Reverse an entry."""
    row = the_entry(number)
    return submitted(
        request,
        ReverseForm(request.POST),
        lambda given: bookings.take_back(
            somebody(request.user), row, reason=given["reason"], today=timezone.localdate(),
            now=timezone.now(),
        ),
        _("The entry is reversed by a further one."),
        lambda form: entry_page(request, row, status=422, reverse=form),
        "desk:entry",
        number,
    )  # fmt: skip
