"""Steps of a card payment in tests: begun, paid at the stand-in, told of by signed messages, taken in by the worker."""

import json
from datetime import UTC, datetime
from typing import Any

import stripe

from orders.models import Order, OutboxJob, PaymentAttempt, ProviderEvent
from orders.services import payment
from orders.worker import JOBS
from tests.kit.provider import SECRET, StandIn
from tests.orders.shop import Shop


def signed(body: bytes, secret: str = SECRET, age: int = 0) -> str:
    stamp = int(datetime.now(UTC).timestamp()) - age
    return stripe.WebhookSignature.generate_signature_header(body.decode(), secret, timestamp=stamp)


def receive(event: dict[str, Any]) -> ProviderEvent:
    body = json.dumps(event).encode()
    return payment.receive_event(body, signed(body), now=datetime.now(UTC))


def work_off() -> None:
    """Do the jobs of card payments that wait, those done before too: each must be harmless twice."""
    kinds = ["apply-event", "refund-by-card", "close-sessions"]
    for job in OutboxJob.objects.filter(kind__in=kinds, state="waiting"):
        try:
            JOBS[job.kind](job.payload)
        except LookupError:
            continue


def begin(shop: Shop, order: Order, kind: str = "deposit") -> PaymentAttempt:
    return payment.start_card_payment(
        shop.owner, order.payment_requests.get(kind=kind),
        success_url="http://127.0.0.1:9/done", cancel_url="http://127.0.0.1:9/back", now=shop.now,
    )  # fmt: skip


def told_of(provider: StandIn, attempt: PaymentAttempt) -> list[dict[str, Any]]:
    return [e for e in provider.events() if e["data"]["object"].get("client_reference_id") == str(attempt.pk)]


def pay_by_card(shop: Shop, provider: StandIn, order: Order, kind: str = "deposit") -> None:
    """The whole way of one payment."""
    attempt = begin(shop, order, kind)
    provider.pay(attempt.session)
    receive(told_of(provider, attempt)[0])
    work_off()
    order.refresh_from_db()
