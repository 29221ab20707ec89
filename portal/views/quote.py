"""A quote reached by its unguessable link: read, open, accept, decline, ask."""

from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from orders import access
from orders.models import Document, Enquiry, Order
from orders.pictures import engineering_of_quote, plan_of, range_of
from orders.refusal import Refused
from orders.services import answering, assumptions, drawings
from orders.services import quote as quotes
from orders.services.comparing import compare
from orders.services.messages import talk_about
from orders.terms import clauses
from portal.facts import facts_of, title_of
from portal.forms.answers import AnswersForm
from portal.forms.ask import AskForm
from portal.forms.words import AcceptForm, DeclineForm, MessageForm
from portal.limits import held_back, or_refuse
from portal.templatetags.sheet import day
from portal.views.answers import unit_typed
from portal.views.units import units_of
from portal.views.who import holder
from quoting.models import Quote
from quoting.services.answers import gravest_first
from quoting.services.pricebook import book_behind
from quoting.services.quotes import Results, results_of, specification_of
from quoting.services.written import whole_of

S = Quote.State


def standing(quote: Quote) -> tuple[str, str, str]:
    """The shape, the word and what comes next."""
    until = day(quote.expires_at)
    if quote.is_open(timezone.now()):
        return (
            "wanted",
            _("Open until %(day)s") % {"day": until},
            _("Read, open any line, then decide below."),
        )
    if quote.state in (S.SENT, S.LAPSED):
        return (
            "off",
            _("Lapsed on %(day)s") % {"day": until},
            _(
                "It can no longer be accepted. Write to us below and we send a fresh one, with today's date and price."
            ),
        )
    if quote.state == S.SUPERSEDED:
        return (
            "off",
            _("Superseded"),
            _("A newer revision has taken its place; only that one can be accepted."),
        )
    if quote.state == S.DECLINED and being_worked_again(quote):
        return (
            "in work",
            _("Being worked again"),
            _("With your answer. Nothing is ordered yet; the new revision comes by mail."),
        )
    if quote.state == S.ACCEPTED:
        return "done", _("Accepted on %(day)s") % {"day": day(quote.decided_at)}, _("It has become an order.")
    return (
        "off",
        _("Declined on %(day)s") % {"day": day(quote.decided_at)},
        _("Write to us if you change your mind."),
    )


def being_worked_again(quote: Quote) -> bool:
    """Whether the enquiry is before the owner again with an answer this quote does not hold."""
    enquiry = Enquiry.objects.filter(series=quote.series, state=Enquiry.State.NEW).first()
    return enquiry is not None and quote.decided_at is not None and enquiry.changed_at >= quote.decided_at


@require_safe
def show(request: HttpRequest, token: str) -> HttpResponse:
    """The page of one revision of a quote."""
    return page(request, access.by_token(Quote, token))


def page(request: HttpRequest, quote: Quote, *, status: int = 200, **forms: Any) -> HttpResponse:
    """The page with fresh forms, or those given back with their errors."""
    specification = specification_of(quote)
    results = results_of(quote)
    unit = units_of(request)
    shape, state_word, what_next = standing(quote)
    drawing = plan_of(specification, unit)
    enquiry = Enquiry.objects.filter(series=quote.series).first()
    context = {
        "quote": quote,
        "title": title_of(specification),
        "shape": shape,
        "state_word": state_word,
        "what_next": what_next,
        "open": quote.is_open(timezone.now()),
        **leads_of(quote),
        "worked_with": worked_with(quote, results),
        "facts": facts_of(specification, unit, {q.key for q in assumptions.of_quote(quote)}),
        "estimate": results,
        "findings": gravest_first(results.findings),
        "drawing": drawing.wide,
        "drawing_compact": drawing.compact,
        "engineering": engineering_of_quote(quote, unit),
        "range_picture": range_of(results.forecast, quote.promised_for),
        "accept_form": AcceptForm(
            initial={"content_hash": quote.content_hash, "terms_version": quote.terms_version}
        ),
        "answers_form": answers_form(quote),
        "decline_form": DeclineForm(prefix="decline"),
        "talk": talk_about(enquiry) if enquiry else [],
        "message_form": MessageForm() if enquiry else None,
        "message_url": reverse("portal:quote_message", args=[quote.token]),
    }
    return render(request, "portal/quote.html", context | forms, status=status)


def leads_of(quote: Quote) -> dict[str, str]:
    """Where to go from here: the newer revision, the order it became, what changed against the revision before."""
    sent = quote.series.revisions.exclude(state=S.DRAFTED)
    newer = sent.filter(revision__gt=quote.revision).order_by("-revision").first()
    order = Order.objects.filter(quote=quote).first()
    earlier = sent.filter(revision__lt=quote.revision).exists()
    return {
        "newer_url": reverse("portal:quote", args=[newer.token]) if newer else "",
        "order_url": reverse("portal:order", args=[order.token]) if order else "",
        "changes_url": reverse("portal:quote_changes", args=[quote.token]) if earlier else "",
    }


def worked_with(quote: Quote, results: Results) -> list[tuple[str, str]]:
    """What the quote was worked with, so that it can be worked again."""
    rows = [
        (_("Price book"), results.price_book),
        (_("Propeller model"), results.model_version),
        (_("Pricing formulas"), results.pricing_version),
        (_("Plan"), quote.plan_version[:12]),
        (_("Terms"), quote.terms_version),
    ]
    return [(name, value) for name, value in rows if value]


def refused_page(request: HttpRequest, quote: Quote, refused: Refused, written: str = "") -> HttpResponse:
    """A decision that came too late: what the quote is by now, what to do next, and what was written as a message."""
    quote.refresh_from_db()
    shape, state_word, what_next = standing(quote)
    context = {
        "quote": quote,
        "refused": refused.message,
        "title": title_of(specification_of(quote)),
        "shape": shape,
        "state_word": state_word,
        "what_next": what_next,
        "message_form": MessageForm(initial={"body": written}) if written else None,
        "message_url": reverse("portal:quote_message", args=[quote.token]),
        **leads_of(quote),
    }
    return render(request, "portal/quote_refused.html", context, status=refused.status)


def answers_form(quote: Quote, data: Any = None) -> AnswersForm | None:
    """What the quote left open, to be answered with the acceptance or later; None when it left nothing open."""
    questions = assumptions.of_quote(quote)
    return AnswersForm(data, questions=questions, unit=unit_typed(quote), later=True) if questions else None


@require_POST
def accept(request: HttpRequest, token: str) -> HttpResponse:
    """Accept what was on the screen; its hash comes back with the form. An answer it does not hold orders nothing."""
    quote = access.by_token(Quote, token)
    form = AcceptForm(request.POST)
    asked = answers_form(quote, request.POST) if quote.is_open(timezone.now()) else None
    answers = asked.answers if asked and asked.is_valid() else {}
    otherwise = assumptions.is_otherwise(answers)
    if (asked and not asked.is_valid()) or not (form.is_valid() or (otherwise and "name" not in form.errors)):
        return page(request, quote, status=422, accept_form=form, answers_form=asked)
    who = holder(request, form.cleaned_data["name"])
    try:
        if otherwise:
            answering.answer_before_order(who, token, answers, now=timezone.now())
            messages.success(request, _("Your answer is with the workshop; nothing is ordered yet."))
            return redirect("portal:quote", token=token)
        order = quotes.accept_quote(
            token,
            seen=form.cleaned_data["content_hash"],
            terms_version=form.cleaned_data["terms_version"],
            name=form.cleaned_data["name"],
            now=timezone.now(),
            who=who,
            answers=answers,
        )
    except Refused as refused:
        if asked and otherwise and refused.field:
            asked.refuse(refused.field, refused.message)
            return page(request, quote, status=422, accept_form=form, answers_form=asked)
        if refused.field or refused.code == "another-text":
            fresh = read_again(quote, form, refused)
            return page(request, quote, status=refused.status, accept_form=fresh, answers_form=asked)
        return refused_page(request, quote, refused)
    messages.success(request, _("Thank you. This is your order's page; keep its link."))
    return redirect("portal:order", token=order.token)


def read_again(quote: Quote, form: AcceptForm, refused: Refused) -> AcceptForm:
    """The form with the name that was typed, bound to what is on this page; the terms are to be ticked anew."""
    fresh = AcceptForm(
        {
            "name": form.cleaned_data["name"],
            "content_hash": quote.content_hash,
            "terms_version": quote.terms_version,
        }
    )
    fresh.add_error(refused.field if refused.field in fresh.fields else None, refused.message)
    return fresh


@require_POST
def decline(request: HttpRequest, token: str) -> HttpResponse:
    """Decline, with a reason."""
    quote = access.by_token(Quote, token)
    form = DeclineForm(request.POST, prefix="decline")
    if not form.is_valid():
        return page(request, quote, status=422, decline_form=form)
    try:
        quotes.decline_quote(
            token, reason=form.cleaned_data["reason"], name=form.cleaned_data["name"], now=timezone.now()
        )
    except Refused as refused:
        return refused_page(request, quote, refused, form.cleaned_data["reason"])
    messages.success(request, _("The quote is declined. Thank you for telling us why."))
    return redirect("portal:quote", token=token)


@require_POST
def write(request: HttpRequest, token: str) -> HttpResponse:
    """Ask something before deciding."""
    quote = access.by_token(Quote, token)
    form = MessageForm(request.POST)
    if not form.is_valid():
        return page(request, quote, status=422, message_form=form)
    if held_back(request, form, "body", "link", token):
        return page(request, quote, status=429, message_form=form)
    enquiry = Enquiry.objects.get(series=quote.series)
    quotes.ask_about_quote(
        token, text=form.cleaned_data["body"], name=enquiry.address["name"], now=timezone.now()
    )
    messages.success(request, _("Your question is with the workshop."))
    return redirect("portal:quote", token=token)


@require_safe
def terms(request: HttpRequest, token: str) -> HttpResponse:
    """The terms of this very quote, with its figures."""
    quote = access.by_token(Quote, token)
    context = {
        "terms": clauses(book_behind(quote.price_book)),
        "version": quote.terms_version,
        "quote": quote,
    }
    return render(request, "portal/terms.html", context)


@require_safe
def changes(request: HttpRequest, token: str) -> HttpResponse:
    """What this revision changed against an earlier one: the one before, or the one named."""
    quote = access.by_token(Quote, token)
    earlier = {
        q.revision: q
        for q in quote.series.revisions.exclude(state=S.DRAFTED).filter(revision__lt=quote.revision)
    }
    if not earlier:
        raise Http404
    chosen = whole_of(request.GET.get("against", ""))
    found = compare(earlier.get(chosen or 0) or earlier[max(earlier)], quote)
    labels = {name: str(field.label) for name, field in AskForm.base_fields.items()}
    typed = [replace(row, what=labels[row.what]) for row in found.typed if row.what in labels]
    context = {"quote": quote, "comparison": found, "typed": typed, "earlier": sorted(earlier)}
    return render(request, "portal/quote_changes.html", context)


@require_safe
def pdf(request: HttpRequest, token: str) -> FileResponse | HttpResponse:
    """The quote as PDF; while it is still being made, a page that says so."""
    quote = access.by_token(Quote, token)
    paper = Document.objects.filter(kind=Document.Kind.QUOTE, quote=quote).first()
    if paper is None:
        return render(request, "portal/paper_pending.html", {"reference": quote.reference}, status=202)
    name = f"{quote.series.number}-{quote.revision}.pdf"
    return FileResponse(paper.file.open("rb"), content_type="application/pdf", filename=name)


@require_safe
def drawing(request: HttpRequest, token: str) -> FileResponse | HttpResponse:
    """The drawing as PDF in the reader's units; while it is still being made, a page that says so.

    An old quote whose drawing nobody has wanted yet has a button that asks for it.
    """
    quote = access.by_token(Quote, token)
    wanted = drawings.subject(quote, units_of(request))
    paper = Document.objects.filter(kind=Document.Kind.DRAWING, quote=quote, subject=wanted).first()
    if paper is None:
        being_made = drawings.standing(quote).being_made
        context = {
            "reference": _("The drawing"),
            "ask_url": "" if being_made else reverse("portal:quote_draw", args=[token]),
        }
        return render(request, "portal/paper_pending.html", context, status=202)
    return FileResponse(paper.file.open("rb"), content_type=paper.media_type, filename=paper.file_name)


@require_POST
def draw(request: HttpRequest, token: str) -> HttpResponse:
    """Have the drawing made; asking more than once asks once."""
    quote = access.by_token(Quote, token)
    if not drawings.standing(quote).being_made:
        or_refuse(request, "link", token)
        drawings.ask_again(quote, now=timezone.now())
    return redirect("portal:quote_drawing", token=token)
