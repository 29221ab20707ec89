"""One's own enquiry, reached by its unguessable link: where it is, what is asked back, withdraw."""

from typing import Any

from django.contrib import messages
from django.core.files.storage import default_storage
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from orders import access
from orders.models import Enquiry, Order
from orders.pictures import plan_of, range_of
from orders.refusal import Refused
from orders.services import enquiry as enquiries
from orders.services.messages import talk_about, write_to_workshop
from portal.facts import title_of
from portal.forms.words import AnswerForm, MessageForm
from portal.limits import held_back
from portal.views.units import units_of
from portal.views.who import holder
from quoting.models import Quote
from quoting.services.answers import gravest_first, read_again
from quoting.services.estimating import lacking

SHAPES = {"new": "in work", "asked back": "wanted", "quoted": "wanted", "declined": "off", "withdrawn": "off"}


def words(state: str) -> tuple[str, str]:
    """The state as read, and what comes next."""
    return {
        "new": (_("With the workshop"), _("We look at it and answer with a quote, or with a question.")),
        "asked back": (_("A question for you"), _("Answer it here; then it is the workshop's turn again.")),
        "quoted": (_("Quoted"), _("A quote is out. Accept, decline or ask on its page.")),
        "declined": (
            _("Declined by the workshop"),
            _("We cannot make this one. You are welcome to ask anew."),
        ),
        "withdrawn": (_("Withdrawn"), _("You withdrew it. You can ask again at any time.")),
    }[state]


def newest_quote(enquiry: Enquiry) -> Quote | None:
    """The revision sent last, if any was."""
    if enquiry.series is None:
        return None
    return enquiry.series.revisions.exclude(state=Quote.State.DRAFTED).order_by("-revision").first()


def standing(enquiry: Enquiry, quote: Quote | None, order: Order | None) -> tuple[str, str, str]:
    """The shape, the word and what comes next, with what has become of the enquiry since it was quoted."""
    word, what_next = words(enquiry.state)
    if order is not None:
        named = _("Everything about it goes on at order %(number)s.") % {"number": order.number}
        return "done", _("Ordered"), named
    if enquiry.state != Enquiry.State.QUOTED or quote is None or quote.is_open(timezone.now()):
        return SHAPES[enquiry.state], word, what_next
    if quote.state == Quote.State.DECLINED:
        return "off", _("Quote declined"), _("Write to us on the quote's page if you change your mind.")
    return (
        "off",
        _("Quote lapsed"),
        _("Write to us on the quote's page and we send a fresh one, with that day's price and date."),
    )


@require_safe
def show(request: HttpRequest, token: str) -> HttpResponse:
    """The page of one enquiry."""
    return page(request, access.by_token(Enquiry, token))


def page(request: HttpRequest, enquiry: Enquiry, *, status: int = 200, **forms: Any) -> HttpResponse:
    """The page with fresh forms, or those given back with their errors."""
    answer = read_again(enquiry.estimate)
    unit = units_of(request)
    drawing = plan_of(answer.specification, unit) if answer else None
    quote = newest_quote(enquiry)
    order = Order.objects.filter(enquiry=enquiry).first()
    shape, state_word, what_next = standing(enquiry, quote, order)
    context = {
        "enquiry": enquiry,
        "order_url": reverse("portal:order", args=[order.token]) if order else "",
        "title": title_of(answer.specification, unit) if answer else _("Your enquiry"),
        "state_word": state_word,
        "shape": shape,
        "what_next": what_next,
        "asked_back": enquiry.state == Enquiry.State.ASKED_BACK,
        "quote_url": reverse("portal:quote", args=[quote.token]) if quote else "",
        "estimate": answer,
        "findings": gravest_first(answer.findings) if answer else [],
        "drawing": drawing and drawing.wide,
        "drawing_compact": drawing and drawing.compact,
        "range_picture": range_of(answer.forecast) if answer else "",
        "lacking": () if answer else lacking(enquiry.typed),
        "talk": talk_about(enquiry),
        "answer_form": AnswerForm(),
        "message_form": MessageForm() if enquiry.is_open and order is None else None,
        "message_url": reverse("portal:enquiry_message", args=[enquiry.token]),
    }
    return render(request, "portal/enquiry.html", context | forms, status=status)


@require_POST
def answer(request: HttpRequest, token: str) -> HttpResponse:
    """The customer's answer to what was asked back."""
    enquiry = access.by_token(Enquiry, token)
    form = AnswerForm(request.POST)
    if not form.is_valid():
        return page(request, enquiry, status=422, answer_form=form)
    text = form.cleaned_data["text"]
    try:
        enquiries.answer(holder(request, enquiry.address["name"]), enquiry, text=text, now=timezone.now())
    except Refused as refused:
        return too_late(request, enquiry, refused, text)
    messages.success(request, _("Your answer is with the workshop."))
    return redirect("portal:enquiry", token=token)


def too_late(request: HttpRequest, enquiry: Enquiry, refused: Refused, text: str = "") -> HttpResponse:
    """The page as it stands by now; what was written waits there as a message."""
    enquiry.refresh_from_db()
    messages.warning(request, refused.message)
    kept = {"message_form": MessageForm(initial={"body": text})} if text else {}
    return page(request, enquiry, status=refused.status, **kept)


@require_POST
def withdraw(request: HttpRequest, token: str) -> HttpResponse:
    """Close the enquiry."""
    enquiry = access.by_token(Enquiry, token)
    try:
        enquiries.withdraw(holder(request, enquiry.address["name"]), enquiry, now=timezone.now())
    except Refused as refused:
        return too_late(request, enquiry, refused)
    messages.success(request, _("Your enquiry is withdrawn."))
    return redirect("portal:enquiry", token=token)


@require_POST
def write(request: HttpRequest, token: str) -> HttpResponse:
    """A message to the workshop on this enquiry."""
    enquiry = access.by_token(Enquiry, token)
    form = MessageForm(request.POST)
    if not form.is_valid():
        return page(request, enquiry, status=422, message_form=form)
    if held_back(request, form, "body", "link", token):
        return page(request, enquiry, status=429, message_form=form)
    who = holder(request, enquiry.address["name"])
    write_to_workshop(who, enquiry, body=form.cleaned_data["body"], now=timezone.now())
    messages.success(request, _("Your message is with the workshop."))
    return redirect("portal:enquiry", token=token)


@require_safe
def picture(request: HttpRequest, token: str) -> FileResponse:
    """The picture sent with the enquiry, as we redrew it."""
    name = access.by_token(Enquiry, token).typed.get("decal_picture", "")
    if not name or not default_storage.exists(name):
        raise Http404
    return FileResponse(default_storage.open(name), content_type="image/png")
