"""Payments: a bank transfer recorded, a card payment begun, the provider's messages received and applied once."""

import json
from datetime import date, datetime, timedelta
from typing import Any

import stripe
from django.db import IntegrityError, transaction
from django.utils import timezone

from orders.models import Order, Payment, PaymentAttempt, PaymentRequest, ProviderEvent
from orders.refusal import Refused
from orders.services import audit, card, letters, outbox, postings
from orders.services.queue import join_if_ready
from orders.who import BOOKKEEPER, OWNER, THE_SERVICE, Who

ASK_AGAIN_AFTER = timedelta(minutes=15)
KEY_IS_KEPT = timedelta(hours=23)
"""The provider may forget an idempotency key after a day."""
KIND = PaymentRequest.Kind
LETTERS: dict[str, str] = {KIND.DEPOSIT: "D", KIND.BALANCE: "B", KIND.STORAGE: "S"}
"""What a payment's reference ends in."""
A = PaymentAttempt.State
E = ProviderEvent.State


def ask_for(order: Order, kind: str, amount: int, *, days: int, today: date, now: datetime) -> PaymentRequest:
    """Ask for the deposit, the balance or storage, once each; assumes the caller's transaction."""
    return PaymentRequest.objects.create(
        order=order,
        kind=kind,
        amount=amount,
        currency=order.currency,
        reference=f"{order.number}-{LETTERS[kind]}",
        asked_at=now,
        due_on=today + timedelta(days=days),
    )


@transaction.atomic
def record_bank_transfer(
    who: Who,
    request: PaymentRequest,
    amount: int,
    *,
    bank_reference: str,
    received_on: date,
    today: date,
    now: datetime,
) -> Payment:
    """Record a transfer seen on the bank's statement; its reference makes it countable once."""
    who.must_be(OWNER, BOOKKEEPER)
    if amount <= 0:
        raise Refused("amount", "Enter an amount above nothing.", status=400, field="amount")
    if not bank_reference.strip():
        raise Refused("reference-missing", "Enter the bank's reference.", status=400, field="bank_reference")
    if received_on > today:
        raise Refused("future", "The transfer cannot lie in the future.", status=400, field="received_on")
    payment = take(
        who, request, amount, request.currency,
        provider="bank", fact=bank_reference.strip()[:255], received_on=received_on, today=today, now=now,
    )  # fmt: skip
    if payment is None:
        raise Refused(
            "recorded-already", "A transfer with this reference is recorded.", field="bank_reference"
        )
    return payment


def take(
    who: Who,
    request: PaymentRequest,
    amount: int,
    currency: str,
    *,
    provider: str,
    fact: str,
    received_on: date,
    today: date,
    now: datetime,
    fee: int = 0,
    attempt: PaymentAttempt | None = None,
) -> Payment | None:
    """Take one fact of money into the books and move the order on; None when the fact is known already.

    Assumes the caller's transaction. Money beyond what is open becomes the customer's credit.
    """
    order = Order.objects.select_for_update().get(pk=request.order_id)
    expected = request.open
    try:
        with transaction.atomic():
            payment = Payment.objects.create(
                provider=provider,
                fact=fact,
                order=order,
                customer=order.customer,
                request=request if expected else None,
                attempt=attempt,
                amount=amount,
                fee=fee,
                currency=currency,
                received_on=received_on,
                reference=request.reference,
                recorded_by=who.name,
                recorded_at=now,
            )
    except IntegrityError:
        return None
    postings.received(who, payment, expected, today=today, now=now)
    audit.record(
        who, "receive", f"order {order.number}", now=now,
        reason=f"{request.kind} by {provider}", detail={"amount": amount, "currency": currency},
    )  # fmt: skip
    letters.receipt(payment, now=now)
    if amount > expected:
        letters.alert_owner(
            f"More was paid than asked on {request.reference}",
            f"{payment} brought more than was open; the rest stands as the customer's credit.",
            now=now,
        )
    if request.is_settled:
        join_if_ready(who, order, now=now)
    return payment


def start_card_payment(
    who: Who, request: PaymentRequest, *, success_url: str, cancel_url: str, now: datetime
) -> PaymentAttempt:
    """Begin a card payment and return the attempt with the provider's address to go to.

    The attempt is stored first; the provider is called outside any transaction with its id as idempotency key.
    Sessions still open for the same request are closed, so that one amount is not paid twice by mistake.
    """
    open_amount = request.open
    if not open_amount:
        raise Refused("paid", "This is paid already. Thank you.")
    card.client()
    older = list(request.attempts.filter(state=A.OPEN))
    attempt = _unanswered(request, open_amount, now=now) or PaymentAttempt.objects.create(
        request=request, amount=open_amount, currency=request.currency, created_at=now
    )
    try:
        for past in older:
            card.expire(past.session or "")
        facts = card.open_session(
            attempt.pk, attempt.amount, attempt.currency,
            what=f"{request.get_kind_display().capitalize()} for order {request.order.number}",
            order=request.order.number, email=request.order.customer.email,
            success_url=success_url, cancel_url=cancel_url,
        )  # fmt: skip
    except stripe.StripeError as trouble:
        raise Refused(
            "card-provider",
            "The card provider does not answer now. Try again in a few minutes, or pay by bank transfer.",
            status=503,
        ) from trouble
    PaymentAttempt.objects.filter(pk=attempt.pk, state=A.CREATED).update(
        session=facts.session, url=facts.url, state=A.OPEN
    )
    attempt.refresh_from_db()
    return attempt


def _unanswered(request: PaymentRequest, amount: int, *, now: datetime) -> PaymentAttempt | None:
    """An attempt whose answer was lost on the way: its key still leads to the session that was opened, if one was."""
    return request.attempts.filter(
        state=A.CREATED, amount=amount, currency=request.currency, created_at__gt=now - KEY_IS_KEPT
    ).first()


def receive_event(body: bytes, signature: str, *, now: datetime) -> ProviderEvent:
    """Store one signed message and the job that will act on it; the same message again changes nothing."""
    message = card.read_message(body, signature, now=now)
    with transaction.atomic():
        event, new = ProviderEvent.objects.get_or_create(
            provider=card.PROVIDER,
            account=str(message.get("account") or "")[:64],
            livemode=message.get("livemode") is True,
            event_id=message["id"][:255],
            defaults={
                "type": str(message.get("type") or "")[:80],
                "payload": body.decode(),
                "received_at": now,
            },
        )
        if new:
            outbox.enqueue("apply-event", {"event": event.pk}, now=now)
    return event


def apply_event(payload: dict[str, Any]) -> None:
    """Job: ask the provider what is true now and take it into the books; the message itself is only a hint."""
    event = ProviderEvent.objects.get(pk=payload["event"])
    if event.state not in (E.RECEIVED, E.PARKED):
        return
    if not event.type.startswith("checkout.session."):
        _mark(event, E.IGNORED, "nothing to do for this kind of message")
        return
    try:
        session = json.loads(event.payload)["data"]["object"]["id"]
        facts = card.look_up(session)
    except (KeyError, TypeError, ValueError, stripe.InvalidRequestError) as fault:
        _quarantine(event, f"unreadable: {fault}")
        return
    apply_session(event, facts, now=timezone.now())


def apply_session(event: ProviderEvent, facts: card.SessionFacts, *, now: datetime) -> None:
    """Apply a session's facts on behalf of a message; a fact that does not fit is set aside and told to the owner."""
    attempt = PaymentAttempt.objects.filter(pk=facts.attempt).first() if facts.attempt else None
    if attempt is None:
        _mark(event, E.PARKED, "no such attempt here")
        raise LookupError(f"message {event.event_id} tells of an attempt unknown here")
    misfit = _misfit(attempt, facts)
    if event.livemode != facts.livemode:
        misfit = "message and session differ in live or test mode"
    if misfit:
        _quarantine(event, misfit)
        return
    settle(attempt, facts, now=now)
    _mark(event, E.APPLIED, "")


@transaction.atomic
def settle(attempt: PaymentAttempt, facts: card.SessionFacts, *, now: datetime) -> None:
    """Bring an attempt to what the provider says: paid moves money into the books once; nothing steps back from paid."""
    today = timezone.localdate(now)
    request = PaymentRequest.objects.select_for_update().get(pk=attempt.request_id)
    if facts.payment_status == "paid":
        PaymentAttempt.objects.filter(pk=attempt.pk).update(state=A.PAID, session=facts.session)
        take(
            THE_SERVICE, request, facts.amount, facts.currency,
            provider=card.PROVIDER, fact=f"{facts.payment}:receipt", received_on=today,
            today=today, now=now, fee=facts.fee, attempt=attempt,
        )  # fmt: skip
    elif facts.status == "expired":
        PaymentAttempt.objects.filter(pk=attempt.pk, state__in=[A.CREATED, A.OPEN]).update(state=A.EXPIRED)


def look_up_open_attempts(payload: dict[str, Any]) -> None:
    """Job: ask about every session left open for a while, so that a lost message leaves no payment unnoticed."""
    if not card.is_configured():
        return
    now = timezone.now()
    for attempt in PaymentAttempt.objects.filter(state=A.OPEN, created_at__lt=now - ASK_AGAIN_AFTER).order_by(
        "created_at"
    ):
        facts = card.look_up(attempt.session or "")
        if not _misfit(attempt, facts):
            settle(attempt, facts, now=now)


def _misfit(attempt: PaymentAttempt, facts: card.SessionFacts) -> str:
    """Why a session cannot be this attempt's, in words; empty when all fits."""
    if attempt.session and attempt.session != facts.session:
        return "another session than the one opened for this attempt"
    if facts.attempt != attempt.pk:
        return "the session belongs to another attempt"
    if (facts.amount, facts.currency) != (attempt.amount, attempt.currency):
        asked = f"{attempt.amount} {attempt.currency}"
        return f"paid {facts.amount} {facts.currency} where {asked} were asked (minor units)"
    if facts.payment_status == "paid" and not facts.payment:
        return "paid without a payment"
    return ""


@transaction.atomic
def _quarantine(event: ProviderEvent, reason: str) -> None:
    _mark(event, E.QUARANTINED, reason)
    letters.alert_owner(
        f"A payment message was set aside: {event.event_id}",
        f"{event.type}: {reason}. Nothing was booked; please look at it with the provider.",
        now=timezone.now(),
    )


def _mark(event: ProviderEvent, state: str, reason: str) -> None:
    ProviderEvent.objects.filter(pk=event.pk).update(
        state=state, reason=reason[:255], applied_at=timezone.now() if state == E.APPLIED else None
    )
