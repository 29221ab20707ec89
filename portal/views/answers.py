"""The open questions of an order: answered as assumed, or otherwise, so that the workshop quotes again."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from orders import access
from orders.models import Order
from orders.refusal import Refused
from orders.services import answering, assumptions
from portal.forms.answers import AnswersForm
from portal.views.who import holder
from quoting.models import Quote


def form_for(order: Order, data: object = None) -> AnswersForm:
    """The questions still open on an order."""
    keys = {row.key for row in assumptions.unanswered(order)}
    questions = [q for q in assumptions.of_quote(order.quote) if q.key in keys]
    return AnswersForm(data, questions=questions, unit=unit_typed(order.quote), later=True)


def unit_typed(quote: Quote) -> str:
    """The unit the customer's lengths are typed in."""
    return str(quote.typed.get("length_unit") or "in")


def answer(request: HttpRequest, token: str) -> HttpResponse:
    """Show the questions of an order, or take the answers."""
    order = access.by_token(Order, token)
    form = form_for(order, request.POST if request.method == "POST" else None)
    if not form.questions or order.state != Order.State.WAITING:
        return redirect("portal:order", token=token)
    if request.method != "POST" or not form.is_valid():
        return page(request, order, form, status=422 if form.is_bound else 200)
    given = form.answers
    who = holder(request, order.accepted_name)
    try:
        answering.answer_on_order(who, order, given, now=timezone.now())
    except Refused as refused:
        form.refuse(refused.field, refused.message)
        return page(request, order, form, status=422 if refused.field else refused.status)
    if assumptions.is_otherwise(given):
        messages.success(
            request,
            _("Your answer is with the workshop, which works the quote again. Nothing is built meanwhile."),
        )
    else:
        messages.success(request, _("Thank you. Your answers stand on the order."))
    return redirect("portal:order", token=token)


def page(request: HttpRequest, order: Order, form: AnswersForm, *, status: int = 200) -> HttpResponse:
    context = {
        "order": order,
        "order_url": reverse("portal:order", args=[order.token]),
        "form": form,
        "now": timezone.now(),
    }
    return render(request, "portal/answers.html", context, status=status)
