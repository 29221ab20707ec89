"""The price book at the desk: its versions, and one version with what it would change before it is put in force."""

from collections.abc import Callable
from decimal import Decimal
from itertools import groupby
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.doing import do, submitted
from orders.desk.price_book_forms import (
    EntriesForm,
    InForceForm,
    NewEntryForm,
    RepriceForm,
    TakeOutForm,
    in_money,
)
from orders.desk.roles import open_to
from orders.models import Repricing
from orders.refusal import Refused
from orders.services import pricebook as books
from orders.services import repricing
from orders.spread import pair_svg, percent, spread_svg
from orders.who import somebody
from quoting.models import PriceBookVersion
from quoting.pricing.book import PriceBook
from quoting.pricing.entries import definition_of
from quoting.pricing.reprice import Difference, Outcome, Spread
from quoting.services.pricebook import NoPriceBook, book_of, current_book

WIDEST = 50
"""So many differences stand on the page, the widest first."""


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
    made: list[PriceBookVersion] = []
    answer = do(
        request,
        lambda: made.append(
            books.draft(somebody(request.user), today=timezone.localdate(), now=timezone.now())
        ),
        _("A draft is made; nothing changes until it is put in force."),
        "desk:price-books",
    )
    if made:
        answer["Location"] = f"{answer['Location']}{made[0].pk}/"
    return answer


@open_to()
def version(request: HttpRequest, pk: int) -> HttpResponse:
    """One version: a draft to edit with what it would change, any other to read."""
    return version_page(request, get_object_or_404(PriceBookVersion, pk=pk))


def version_page(
    request: HttpRequest, row: PriceBookVersion, *, status: int = 200, **given: Any
) -> HttpResponse:
    """The page with fresh forms, or those given back with what was typed and their errors."""
    row.refresh_from_db()
    book = book_of(row)
    context: dict[str, Any] = {"version": row, "book": book, "now": timezone.now()}
    if row.is_draft:
        form = given.pop("form", None) or EntriesForm(book=book)
        run = repricing.latest(row)
        context |= {
            "form": form,
            "parts": by_heading(form, book),
            "in_force": InForceForm(initial={"effective_from": timezone.localdate()}),
            "new_entry": NewEntryForm(),
            "take_out": TakeOutForm(book=book),
            "reprice": RepriceForm(),
            "tried": repricing.is_tried(row, book),
            **at_once(book),
            **(run_shown(run, book) if run else {}),
        }
    else:
        find = request.GET.get("find", "").strip()[:80]
        found = [entry for entry in book.entries.values() if speaks_of(entry, find)]
        context["read"] = [(heading, list(entries)) for heading, entries in groupby(found, key=heading_of)]
        context["find"] = find
    return render(request, "desk/price_book.html", context | given, status=status)


def heading_of(entry: Any) -> str:
    found = definition_of(entry.key)
    return found.heading if found else ""


def speaks_of(entry: Any, words: str) -> bool:
    """Whether an entry's name, meaning or heading holds every word."""
    text = f"{entry.key} {entry.sentence} {heading_of(entry)}".casefold()
    return all(word in text for word in words.casefold().split())


def by_heading(form: forms.Form, book: PriceBook) -> list[tuple[str, list[Any]]]:
    """The form's fields under the headings of the price book."""
    ordered = groupby(book.entries.values(), key=heading_of)
    return [(heading, [form[entry.key] for entry in entries]) for heading, entries in ordered]


def at_once(book: PriceBook) -> dict[str, Any]:
    """What a page shows at once of a book that is not in force: the entries that differ, and the newest open prices."""
    sample = repricing.sample(book, today=timezone.localdate())
    return {
        "changes": changes_of(book),
        "sample": rows_of(sample.outcome),
        "sample_outcome": sample.outcome,
        "sample_unpriced": sample.unpriced,
    }


def changes_of(book: PriceBook) -> list[tuple[str, str, str, str, str]]:
    """Key, sentence, unit, value in force and value here of every entry that differs from the book in force today."""
    try:
        now = current_book(timezone.localdate()).entries
    except NoPriceBook:
        return []
    found = []
    for key in sorted(now.keys() | book.entries.keys(), key=lambda k: list({**now, **book.entries}).index(k)):
        old, new = now.get(key), book.entries.get(key)
        if old and new and old.value == new.value:
            continue
        either = new or old
        assert either is not None
        unit = in_money(either.unit, book.currency)
        found.append((key, either.sentence, unit, _plain(old), _plain(new)))
    return found


def _plain(entry: Any) -> str:
    return f"{entry.value.normalize():f}" if entry else ""


def run_shown(run: Repricing, book: PriceBook) -> dict[str, Any]:
    """What a page shows of the latest re-pricing: how far it is, or how the differences and margins lie."""
    shown: dict[str, Any] = {"run": run, "run_is_of_this": run.book_digest == repricing.book_digest(book)}
    if run.state == Repricing.State.DONE:
        whole = repricing.outcome_of(run)
        shown |= {
            "whole": whole,
            "rows": rows_of(whole)[:WIDEST],
            "more": max(len(whole.differences) - WIDEST, 0),
            "pictures": pictures_of(whole),
            "spreads": spreads_of(whole),
            "bins": bins_of(whole),
        }
    return shown


def pictures_of(whole: Outcome) -> list[tuple[str, SafeString]]:
    """The changes, and the margins before and after in the same bins."""
    found = []
    if whole.changes:
        title = _("Change of the price before tax")
        found.append((title, mark_safe(spread_svg(whole.changes, title, "changes"))))  # noqa: S308 -- figures and own words alone
    if whole.margins_before and whole.margins_after:
        title, words = _("Margin, of the price before tax"), (_("as quoted"), _("under the draft"))
        drawn = pair_svg(whole.margins_before, whole.margins_after, words, title, "margins")
        found.append((title, mark_safe(drawn)))  # noqa: S308 -- figures and own words alone
    return found


def spreads_of(whole: Outcome) -> list[tuple[str, list[str]]]:
    """The figures of the pictures: least, lower quarter, half, upper quarter, most."""
    named = (
        (_("change"), whole.changes),
        (_("margin as quoted"), whole.margins_before),
        (_("margin under the draft"), whole.margins_after),
    )
    return [
        (name, [percent(v) for v in (s.least, s.lower, s.middle, s.upper, s.most)]) for name, s in named if s
    ]


def bins_of(whole: Outcome) -> list[tuple[str, list[tuple[str, str, int, int | None]]]]:
    """The bars of the pictures as rows: from, to, how many, and how many under the draft where there are two."""

    def bars(first: Spread, second: Spread | None = None) -> list[tuple[str, str, int, int | None]]:
        edges = [percent(e) for e in first.edges]
        after: list[int] | list[None] = list(second.counts) if second else [None] * len(first.counts)
        return list(zip(edges, edges[1:], first.counts, after, strict=False))

    found = []
    if whole.changes:
        found.append((_("Change of the price before tax"), bars(whole.changes)))
    if whole.margins_before and whole.margins_after:
        found.append((_("Margin"), bars(whole.margins_before, whole.margins_after)))
    return found


def rows_of(whole: Outcome) -> list[tuple[Difference, str, str, str]]:
    """The widest change first, with its shares as written; what the draft cannot price stands before all."""
    ranked = sorted(
        whole.differences, key=lambda d: (not d.problem, -abs(d.share or Decimal(0)), d.reference)
    )
    return [(d, worded(d.share), worded(d.margin_before), worded(d.margin_after)) for d in ranked]


def worded(share: Decimal | None) -> str:
    return "" if share is None else percent(share)


def sent_form(
    request: HttpRequest, pk: int, kind: Callable[..., forms.Form], name: str, action: Any, said: str
) -> HttpResponse:
    """One of the draft's forms, done or shown again with what was typed."""
    row = get_object_or_404(PriceBookVersion, pk=pk)
    form = kind(request.POST, book=book_of(row)) if kind in (EntriesForm, TakeOutForm) else kind(request.POST)
    return submitted(
        request,
        form,
        lambda _given: action(somebody(request.user), row, form),
        said,
        lambda form: version_page(
            request, row, status=422, **{name: form, "refused": form.non_field_errors()}
        ),
        "desk:price-book",
        pk,
    )


@require_POST
@open_to()
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the draft's values; the page then shows what they do."""
    return sent_form(
        request, pk, EntriesForm, "form",
        lambda who, row, form: books.change(who, row, form.changed_values(), now=timezone.now()),
        _("The draft is changed; what it does stands below."),
    )  # fmt: skip


@require_POST
@open_to()
def try_values(request: HttpRequest, pk: int) -> HttpResponse:
    """What the values typed so far would change; nothing is stored. Asked for while typing."""
    row = get_object_or_404(PriceBookVersion, pk=pk)
    book = book_of(row)
    form = EntriesForm(request.POST, book=book)
    context: dict[str, Any] = {"trying": True}
    if form.is_valid():
        context |= at_once(book.redrafted(book.version, form.changed_values()))
    else:
        context["faults"] = [(key, errors[0]) for key, errors in form.errors.items()]
    return render(request, "desk/price_book_at_once.html", context)


@require_POST
@open_to()
def add_entry(request: HttpRequest, pk: int) -> HttpResponse:
    """Add an entry of a family to the draft."""

    def add(who: Any, row: PriceBookVersion, form: Any) -> None:
        if form.key in book_of(row).entries:
            raise Refused("there", _("This entry is in the book already: change its value."), field="code")
        try:
            books.change(who, row, {form.key: form.cleaned_data["value"]}, now=timezone.now())
        except Refused as refused:
            refused.field = "value" if refused.code == "out-of-bounds" else "code"
            raise

    return sent_form(request, pk, NewEntryForm, "new_entry", add, _("The entry is in the draft."))


@require_POST
@open_to()
def take_out(request: HttpRequest, pk: int) -> HttpResponse:
    """Take an entry of a family out of the draft."""
    return sent_form(
        request, pk, TakeOutForm, "take_out",
        lambda who, row, form: books.take_out(who, row, form.cleaned_data["key"], now=timezone.now()),
        _("The entry is taken out of the draft."),
    )  # fmt: skip


@require_POST
@open_to()
def reprice(request: HttpRequest, pk: int) -> HttpResponse:
    """Have the worker price a chosen set under the draft."""
    return sent_form(
        request, pk, RepriceForm, "reprice",
        lambda who, row, form: repricing.ask_for(who, row, form.choice, now=timezone.now()),
        _("The worker prices them now; how far it is stands below."),
    )  # fmt: skip


@open_to()
def repricing_part(request: HttpRequest, pk: int) -> HttpResponse:
    """The part of the page that tells of the latest re-pricing: asked for again while it is under way."""
    row = get_object_or_404(PriceBookVersion, pk=pk)
    run = repricing.latest(row)
    context = run_shown(run, book_of(row)) if run else {}
    return render(request, "desk/price_book_run.html", {"version": row, **context})


@require_POST
@open_to()
def put_in_force(request: HttpRequest, pk: int) -> HttpResponse:
    """Put the draft in force from a day."""
    return sent_form(
        request, pk, InForceForm, "in_force",
        lambda who, row, form: books.put_in_force(
            who, row, form.cleaned_data["effective_from"], today=timezone.localdate(), now=timezone.now()
        ),
        _("The price book is put in force."),
    )  # fmt: skip
