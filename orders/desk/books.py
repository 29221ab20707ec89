"""The books: journal, balances of the accounts, and the export."""

from datetime import date

from dateutil.relativedelta import relativedelta
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from orders.desk.roles import open_to
from orders.models import Invoice, JournalEntry, Payment, Period
from orders.services.export import journal_csv
from orders.services.verify import trial_balance

SHOWN = 40


def chosen_period(text: str) -> Period | None:
    """The period whose first day is the ISO date typed, or None for all."""
    try:
        return Period.objects.filter(first_day=date.fromisoformat(text)).first()
    except ValueError:
        return None


@open_to("bookkeeper")
def books(request: HttpRequest) -> HttpResponse:
    """Journal entries of one period (or all), newest first, and the trial balance."""
    period = chosen_period(request.GET.get("period", ""))
    entries = (
        JournalEntry.objects.filter(posted=True).select_related("period").prefetch_related("lines__account")
    )
    if period:
        entries = entries.filter(period=period)
    trial = trial_balance(period)
    sums: dict[str, list[int]] = {}
    for row in trial:
        pair = sums.setdefault(row.currency, [0, 0])
        pair[0] += row.debit
        pair[1] += row.credit
    return render(
        request,
        "desk/books.html",
        {
            "page": Paginator(entries.order_by("-number"), SHOWN).get_page(request.GET.get("page")),
            "period": period,
            "periods": Period.objects.order_by("-first_day"),
            "trial": trial,
            "sums": [(currency, *pair) for currency, pair in sums.items()],
        },
    )


@open_to("bookkeeper")
def invoices(request: HttpRequest) -> HttpResponse:
    """Invoices and payments, newest first."""
    issued = Invoice.objects.select_related("order__customer").order_by("-issued_on", "-number")
    payments = Payment.objects.select_related("order__customer").order_by("-received_on", "-id")
    return render(
        request,
        "desk/invoices.html",
        {
            "page": Paginator(issued, SHOWN).get_page(request.GET.get("page")),
            "payments": Paginator(payments, SHOWN).get_page(request.GET.get("payments")),
        },
    )


@open_to("bookkeeper")
def export(request: HttpRequest) -> HttpResponse:
    """The journal of one period (or all) as CSV: the same bytes for the same data."""
    period = chosen_period(request.GET.get("period", ""))
    first = period.first_day if period else None
    last = first + relativedelta(months=1, days=-1) if first else None
    name = f"journal-{first:%Y-%m}.csv" if first else "journal.csv"
    return HttpResponse(
        journal_csv(first, last),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
