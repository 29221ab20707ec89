"""The price book at the desk: its versions, and one version with what it would change before it is put in force."""

from decimal import Decimal
from itertools import groupby
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.doing import at_field
from orders.desk.forms import EntriesForm, InForceForm
from orders.desk.roles import open_to
from orders.refusal import Refused
from orders.services import pricebook as books
from orders.spread import percent, spread_svg
from orders.who import somebody
from quoting.models import PriceBookVersion
from quoting.pricing.book import PriceBook
from quoting.pricing.entries import definition_of
from quoting.pricing.reprice import Difference
from quoting.services.pricebook import book_of


@open_to()
def versions(request: HttpRequest) -> HttpResponse:
    """Every version, drafts first, then by the day it is in force from."""
    rows = list(PriceBookVersion.objects.all())
    rows.sort(key=lambda row: not row.is_draft)
    return render(request, "desk/price_books.html", {"versions": rows, "now": timezone.now()})


@require_POST
@open_to()
def draft(request: HttpRequest) -> HttpResponse:
    """Draft a copy of the book in force."""
    try:
        made = books.draft(somebody(request.user), today=timezone.localdate(), now=timezone.now())
    except Refused as refused:
        messages.warning(request, refused.message)
        return redirect("desk:price-books")
    messages.success(request, _("A draft is made; nothing changes until it is put in force."))
    return redirect("desk:price-book", made.pk)


@open_to()
def version(request: HttpRequest, pk: int) -> HttpResponse:
    """One version: a draft to edit with what it would change, any other to read."""
    return version_page(request, get_object_or_404(PriceBookVersion, pk=pk))


def version_page(
    request: HttpRequest,
    row: PriceBookVersion,
    *,
    values: EntriesForm | None = None,
    in_force: InForceForm | None = None,
    status: int = 200,
) -> HttpResponse:
    book = book_of(row)
    context: dict[str, Any] = {"version": row, "book": book, "now": timezone.now()}
    if row.is_draft:
        form = values or EntriesForm(book=book)
        context |= {
            "form": form,
            "parts": by_heading(form, book),
            "in_force": in_force or InForceForm(initial={"effective_from": timezone.localdate()}),
        }
        context |= shown(row)
    return render(request, "desk/price_book.html", context, status=status)


def by_heading(form: forms.Form, book: PriceBook) -> list[tuple[str, list[Any]]]:
    """The form's fields under the headings of the price book."""
    headings = {key: found.heading for key in book.entries if (found := definition_of(key))}
    ordered = groupby(book.entries, key=lambda key: headings[key])
    return [(heading, [form[key] for key in keys]) for heading, keys in ordered]


def shown(row: PriceBookVersion) -> dict[str, Any]:
    """What a page shows of prices under a draft."""
    found = books.under_draft(row, today=timezone.localdate())
    whole = found.outcome
    pictures = (
        (_("Change of the price before tax"), whole.changes, "changes"),
        (_("Margin as quoted"), whole.margins_before, "margins-before"),
        (_("Margin under the draft"), whole.margins_after, "margins-after"),
    )
    return {
        "found": found,
        "differences": [
            (d, worded(d.share), worded(d.margin_before), worded(d.margin_after))
            for d in ranked(whole.differences)
        ],
        "pictures": [
            (title, mark_safe(spread_svg(spread, title, name)))  # noqa: S308 -- figures and own words alone
            for title, spread, name in pictures
            if spread
        ],
    }


def ranked(differences: tuple[Difference, ...]) -> list[Difference]:
    """The widest change first; what the draft cannot price stands before all."""
    return sorted(differences, key=lambda d: (not d.problem, -abs(d.share or 0), d.reference))


def worded(share: Decimal | None) -> str:
    return "" if share is None else percent(share)


@require_POST
@open_to()
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the draft's values; the page then shows what they do."""
    row = get_object_or_404(PriceBookVersion, pk=pk)
    form = EntriesForm(request.POST, book=book_of(row))
    try:
        if not form.is_valid():
            return version_page(request, row, values=form, status=422)
        books.change(somebody(request.user), row, form.changed_values(), now=timezone.now())
    except Refused as refused:
        at_field(form, refused)
        messages.warning(request, refused.message)
        return version_page(request, row, values=form, status=422)
    messages.success(request, _("The draft is changed; what it does stands below."))
    return redirect("desk:price-book", pk)


@require_POST
@open_to()
def put_in_force(request: HttpRequest, pk: int) -> HttpResponse:
    """Put the draft in force from a day."""
    row = get_object_or_404(PriceBookVersion, pk=pk)
    form = InForceForm(request.POST)
    if not form.is_valid():
        return version_page(request, row, in_force=form, status=422)
    try:
        books.put_in_force(
            somebody(request.user), row, form.cleaned_data["effective_from"],
            today=timezone.localdate(), now=timezone.now(),
        )  # fmt: skip
    except Refused as refused:
        at_field(form, refused)
        row.refresh_from_db()
        messages.warning(request, refused.message)
        return version_page(request, row, in_force=form, status=422)
    messages.success(request, _("The price book is put in force."))
    return redirect("desk:price-book", pk)
