"""The card provider's side, through its own library: sessions, what became of them, and signed messages.

The only file that speaks to the provider. Nothing here writes a row, and nothing here runs inside a transaction.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

import stripe
from django.conf import settings

from orders.refusal import Refused

PROVIDER = "stripe"
TOLERANCE_SECONDS = 300
LARGEST_MESSAGE = 1_000_000
TWO_DIGITS_AT_PROVIDER = frozenset({"ISK", "UGX"})
"""Currencies without minor units that the provider still wants with two digits; from memory of its documents."""


@dataclass(frozen=True, slots=True)
class SessionFacts:
    """What the provider says now about one checkout session. Amounts in our minor units."""

    session: str
    attempt: UUID | None
    status: str
    payment_status: str
    amount: int
    currency: str
    livemode: bool
    payment: str
    fee: int
    url: str = ""


@dataclass(frozen=True, slots=True)
class RefundFacts:
    """What the provider says of a refund it made: its id and how far it is."""

    refund: str
    status: str


REFUND_CAME_TO_NOTHING = frozenset({"failed", "canceled"})


def is_configured() -> bool:
    """Whether cards are offered at all: without a key, bank transfer only."""
    return bool(settings.STRIPE_API_KEY)


def client() -> stripe.StripeClient:
    """A client for the configured key and address; the address is the provider's own unless set."""
    if not is_configured():
        raise Refused("no-card", "Cards are not offered here; please pay by bank transfer.")
    if settings.STRIPE_API_BASE:
        return stripe.StripeClient(settings.STRIPE_API_KEY, base_addresses={"api": settings.STRIPE_API_BASE})
    return stripe.StripeClient(settings.STRIPE_API_KEY)


def _factor(currency: str) -> int:
    return 100 if currency.upper() in TWO_DIGITS_AT_PROVIDER else 1


def open_session(
    attempt: UUID,
    amount: int,
    currency: str,
    *,
    what: str,
    order: str,
    email: str,
    success_url: str,
    cancel_url: str,
) -> SessionFacts:
    """Open a checkout session; the attempt's id is the idempotency key, so a repeated call opens no second one."""
    session = client().v1.checkout.sessions.create(
        {
            "mode": "payment",
            "client_reference_id": str(attempt),
            "metadata": {"attempt": str(attempt), "order": order},
            "customer_email": email,
            "success_url": success_url,
            "cancel_url": cancel_url,
            "line_items": [
                {
                    "quantity": 1,
                    "price_data": {
                        "currency": currency.lower(),
                        "unit_amount": amount * _factor(currency),
                        "product_data": {"name": what},
                    },
                }
            ],
        },
        {"idempotency_key": str(attempt)},
    )
    return _facts(session.to_dict())


def look_up(session: str) -> SessionFacts:
    """The current state of a session, with its payment and the fee taken."""
    found = client().v1.checkout.sessions.retrieve(
        session, {"expand": ["payment_intent.latest_charge.balance_transaction"]}
    )
    return _facts(found.to_dict())


def expire(session: str) -> None:
    """Close an open session; one that is complete or closed already is left as it is."""
    try:
        client().v1.checkout.sessions.expire(session)
    except stripe.InvalidRequestError:
        return


def refund(payment: str, amount: int, currency: str, *, key: str) -> RefundFacts:
    """Give money back on a payment; `key` is the idempotency key and stands in the refund's metadata."""
    made = client().v1.refunds.create(
        {"payment_intent": payment, "amount": amount * _factor(currency), "metadata": {"refund": key}},
        {"idempotency_key": key},
    )
    return RefundFacts(made.id, made.status or "")


def refund_made(payment: str, key: str) -> RefundFacts | None:
    """The refund that was made on a payment under a key, if one was; asked where the key may be forgotten."""
    for made in client().v1.refunds.list({"payment_intent": payment}).auto_paging_iter():
        if (made.to_dict().get("metadata") or {}).get("refund") == key:
            return RefundFacts(made.id, made.status or "")
    return None


def read_message(body: bytes, signature: str, *, now: datetime) -> dict[str, Any]:
    """The message, if one of our secrets signed these very bytes within 300 s either way; else Refused (400).

    The library refuses only stamps that are too old; one from the future is refused here.
    """
    if len(body) > LARGEST_MESSAGE:
        raise Refused("message-too-long", "The message is too long.", status=400)
    _check_signature(body, signature, settings.STRIPE_WEBHOOK_SECRETS, now=now)
    try:
        message = json.loads(body)
    except ValueError as fault:
        raise Refused("message-unreadable", "The message is not JSON.", status=400) from fault
    if not isinstance(message, dict) or not isinstance(message.get("id"), str):
        raise Refused("message-unreadable", "The message has no id.", status=400)
    return message


def _check_signature(body: bytes, signature: str, secrets: Sequence[str], *, now: datetime) -> None:
    refusal = Refused("signature", "The signature does not fit.", status=400)
    stamps = [part[2:] for part in signature.split(",") if part.startswith("t=")]
    if len(stamps) != 1 or not (stamps[0].isascii() and stamps[0].isdigit()) or len(stamps[0]) > 12:
        raise refusal
    if abs(now.timestamp() - int(stamps[0])) > TOLERANCE_SECONDS:
        raise refusal
    for secret in secrets:
        try:
            # age is judged above by one clock, in both directions; here only the signature
            stripe.WebhookSignature.verify_header(body.decode(), signature, secret, tolerance=None)
            return
        except (stripe.SignatureVerificationError, UnicodeDecodeError):
            continue
    raise refusal


def _facts(session: dict[str, Any]) -> SessionFacts:
    """Read a session defensively; a missing amount or currency raises KeyError and the message is set aside."""
    intent = session.get("payment_intent") or {}
    charge = (intent.get("latest_charge") or {}) if isinstance(intent, dict) else {}
    transaction = (charge.get("balance_transaction") or {}) if isinstance(charge, dict) else {}
    currency = str(session["currency"]).upper()
    try:
        attempt = UUID(str(session.get("client_reference_id")))
    except ValueError:
        attempt = None
    return SessionFacts(
        session=session["id"],
        attempt=attempt,
        status=session.get("status") or "",
        payment_status=session.get("payment_status") or "",
        amount=int(session["amount_total"]) // _factor(currency),
        currency=currency,
        livemode=bool(session.get("livemode")),
        payment=intent["id"] if isinstance(intent, dict) and intent else str(intent or ""),
        fee=int(transaction.get("fee") or 0) // _factor(currency) if isinstance(transaction, dict) else 0,
        url=session.get("url") or "",
    )
