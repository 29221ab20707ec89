"""Paying a deposit, balance or storage: where to transfer it, or over to the provider; coming back only shows state."""

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from orders import access
from orders.models import Order, PaymentAttempt, PaymentRequest, Workshop
from orders.services import card, payment
from portal.limits import or_refuse
from portal.templatetags.sheet import money
from portal.views.order import payment_word
from portal.views.who import holder


def asked(token: str, kind: str) -> PaymentRequest:
    """The deposit or balance asked for on the order behind a link."""
    order = access.by_token(Order, token)
    found = order.payment_requests.filter(kind=kind).first()
    if found is None:
        raise Http404
    return found


@require_safe
def show(request: HttpRequest, token: str, kind: str) -> HttpResponse:
    """What is open and how to pay it. `back` marks a return from the provider; it changes nothing."""
    ask = asked(token, kind)
    waiting = "back" in request.GET and ask.attempts.filter(state=PaymentAttempt.State.OPEN).exists()
    workshop = Workshop.objects.first()
    context = {
        "ask": ask,
        "order": ask.order,
        "order_url": reverse("portal:order", args=[token]),
        "label": payment_word(ask.kind),
        "waiting": waiting,
        "state_word": _("paid") if ask.is_settled else _("open"),
        "bank_details": workshop.bank_details if workshop else "",
        "card_offered": card.is_configured() and ask.order.state != Order.State.CANCELLED,
        "card_url": reverse("portal:pay_card", args=[token, kind]),
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
        success_url=f"{back}?back=1",
        cancel_url=back,
        now=timezone.now(),
    )
    return redirect(attempt.url)
