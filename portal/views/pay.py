"""Paying a deposit, balance or storage: where to transfer it, or over to the provider; coming back only shows state."""

import stripe
from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from orders import access
from orders.models import Order, PaymentRequest, Workshop
from orders.refusal import Refused
from orders.services import card, payment
from portal.limits import or_refuse
from portal.templatetags.sheet import money
from portal.views.order import payment_state, payment_word
from portal.views.who import holder
from portal.wanted import card_under_way


def asked(token: str, kind: str) -> PaymentRequest:
    """The deposit or balance asked for on the order behind a link."""
    order = access.by_token(Order, token)
    found = order.payment_requests.filter(kind=kind).first()
    if found is None:
        raise Http404
    return found


@require_safe
def show(request: HttpRequest, token: str, kind: str) -> HttpResponse:
    """What is open and how to pay it; while a card payment is under way, what became of it is waited for first."""
    ask = asked(token, kind)
    under_way = None if ask.is_settled else card_under_way(ask)
    workshop = Workshop.objects.first()
    context = {
        "ask": ask,
        "order": ask.order,
        "order_url": reverse("portal:order", args=[token]),
        "label": payment_word(ask.kind),
        "under_way": under_way,
        "state_word": payment_state(ask),
        "bank_details": workshop.bank_details if workshop else "",
        "card_offered": card.is_configured() and ask.order.state != Order.State.CANCELLED,
        "card_url": reverse("portal:pay_card", args=[token, kind]),
        "end_url": reverse("portal:pay_card_end", args=[token, kind]),
        "open_text": money(ask.open, ask.currency),
        "now": timezone.now(),
    }
    return render(request, "portal/pay.html", context)


@require_POST
def by_card(request: HttpRequest, token: str, kind: str) -> HttpResponse:
    """Begin a card payment and go to the provider's page."""
    ask = asked(token, kind)
    or_refuse(request, "link", token)
    back = f"{settings.BASE_URL}{reverse('portal:pay', args=[token, kind])}"
    attempt = payment.start_card_payment(
        holder(request, ask.order.customer.name),
        ask,
        success_url=back,
        cancel_url=back,
        now=timezone.now(),
    )
    return redirect(attempt.url)


@require_POST
def end_card(request: HttpRequest, token: str, kind: str) -> HttpResponse:
    """End a card payment that was begun and not finished, so that it can be paid another way; one paid stays paid."""
    ask = asked(token, kind)
    or_refuse(request, "link", token)
    try:
        payment.close_sessions({"order": ask.order_id})
    except stripe.StripeError as trouble:
        raise Refused(
            "card-provider",
            _("The card provider does not answer now. Try again in a few minutes."),
            status=503,
        ) from trouble
    if card_under_way(ask):
        messages.info(request, _("The card provider has this payment and has not confirmed it yet."))
    return redirect("portal:pay", token=token, kind=kind)
