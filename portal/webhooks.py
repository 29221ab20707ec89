"""The card provider's door: a signed message is stored as received and answered; what it means is found out later."""

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST

from orders.refusal import Refused
from orders.services import card, payment


@csrf_exempt
@require_POST
def card_message(request: HttpRequest) -> HttpResponse:
    """Take one message: 200 once it is stored, 400 when it is not the provider's. The signature covers the raw body."""
    try:
        length = int(request.headers.get("Content-Length") or 0)
    except ValueError:
        length = 0
    if length > card.LARGEST_MESSAGE:
        raise Refused("message-too-long", "The message is too long.", status=413)
    payment.receive_event(request.body, request.headers.get("Stripe-Signature", ""), now=timezone.now())
    return HttpResponse(status=200)
