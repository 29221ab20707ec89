"""Payments: a bank transfer recorded, a card payment begun, the provider's messages received and applied once."""

import json
import logging
from datetime import date, datetime, timedelta
from typing import Any

import stripe
from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _

from orders.models import Order, Payment, PaymentAttempt, PaymentRequest, ProviderEvent
from orders.refusal import Refused
from orders.services import audit, card, letters, outbox, postings
from orders.services.queue import join_if_ready
from orders.services.steps import locked
from orders.who import BOOKKEEPER, OWNER, THE_SERVICE, Who

ASK_AGAIN_AFTER = timedelta(minutes=15)
KEY_IS_KEPT = timedelta(hours=23)
"""The provider may forget an idempotency key after a day."""
KIND = PaymentRequest.Kind
LETTERS: dict[str, str] = {KIND.DEPOSIT: "D", KIND.BALANCE: "B", KIND.STORAGE: "S"}
"""What a payment's reference ends in."""
LONGEST_REFERENCE = 120
A = PaymentAttempt.State
E = ProviderEvent.State
log = logging.getLogger(__name__)


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


def reference_of_bank(typed: str, *, field: str = "bank_reference") -> str:
    """The bank's reference as it is kept, or Refused at its field."""
    reference = typed.strip()
    if not reference or len(reference) > LONGEST_REFERENCE:
        text = _("Enter the bank's reference in up to %(most)d characters.") % {"most": LONGEST_REFERENCE}
        raise Refused("reference", text, status=400, field=field)
    return reference


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
    """Record a transfer seen on the bank's statement; its reference makes it countable once, unless it was taken back."""
    who.must_be(OWNER, BOOKKEEPER)
    if amount <= 0:
        raise Refused("amount", _("Enter an amount above nothing."), status=400, field="amount")
    fact = reference_of_bank(bank_reference)
    if received_on > today:
        raise Refused("future", _("This day has not come yet."), status=400, field="received_on")
    reference, turn = fact, 1
    while Payment.objects.filter(provider=postings.BANK, fact=f"{fact}{Payment.TAKEN_BACK}").exists():
        turn += 1
        fact = f"{reference} ({turn})"
    payment = take(
        who, request, amount, request.currency,
        provider=postings.BANK, fact=fact, received_on=received_on, today=today, now=now,
    )  # fmt: skip
    if payment is None:
        text = _("A transfer with this reference is recorded already.")
        raise Refused("recorded-already", text, field="bank_reference")
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

    Assumes the caller's transaction. Money beyond what is open becomes the customer's credit; what comes for a cancelled
    order is owed back.
    """
    order = locked(request.order)
    request = order.payment_requests.get(pk=request.pk)
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
    if order.state == Order.State.CANCELLED:
        letters.alert_owner(
            _("Money came for a cancelled order, %(reference)s") % {"reference": request.reference},
            _("%(payment)s is owed back to the customer.") % {"payment": payment},
            now=now,
        )
    elif amount > expected:
        letters.alert_owner(
            _("More was paid than asked on %(reference)s") % {"reference": request.reference},
            _("%(payment)s brought more than was open; the rest stands as the customer's credit.")
            % {"payment": payment},
            now=now,
        )
    if request.is_settled:
        join_if_ready(who, order, now=now)
    return payment


def start_card_payment(
    who: Who, request: PaymentRequest, *, success_url: str, cancel_url: str, now: datetime
) -> PaymentAttempt:
    """Begin a card payment and return the attempt with the provider's address to go to.

    One attempt is under way for a request at a time: asked again, the customer is sent to the same session, so that one
    amount is not paid twice by mistake; one over another amount is closed first. The attempt is stored before the
    provider is called, outside any transaction, with its id as idempotency key.
    """
    card.client()
    try:
        _close(request.attempts.filter(state=A.OPEN), unless=request.open, now=now)
        attempt = _attempt(who, request, now=now)
        if attempt.state == A.OPEN:
            return attempt
        facts = card.open_session(
            attempt.pk, attempt.amount, attempt.currency,
            what=f"{request.get_kind_display().capitalize()} for order {request.order.number}",
            order=request.order.number, email=request.order.customer.email,
            success_url=success_url, cancel_url=cancel_url,
        )  # fmt: skip
    except stripe.StripeError as trouble:
        raise Refused(
            "card-provider",
            _("The card provider does not answer now. Try again in a few minutes, or pay by bank transfer."),
            status=503,
        ) from trouble
    PaymentAttempt.objects.filter(pk=attempt.pk, state=A.CREATED).update(
        session=facts.session, url=facts.url, state=A.OPEN
    )
    attempt.refresh_from_db()
    if attempt.state != A.OPEN:
        raise _meanwhile()
    return attempt


def _meanwhile() -> Refused:
    return Refused("moved-meanwhile", _("What is to be paid changed meanwhile; please look again."))


@transaction.atomic
def _attempt(who: Who, request: PaymentRequest, *, now: datetime) -> PaymentAttempt:
    """The attempt under way for what is open, or a new one, under the order's lock.

    One whose answer was lost on the way is taken up again: its key still leads to the session that was opened, if one was.
    """
    order = locked(request.order)
    request = order.payment_requests.get(pk=request.pk)
    if order.state == Order.State.CANCELLED:
        raise Refused("cancelled", _("This order is cancelled; nothing is to be paid."))
    if not request.open:
        raise Refused("paid", _("This is paid already. Thank you."))
    under_way = request.attempts.filter(state__in=PaymentAttempt.UNDER_WAY).first()
    if under_way is not None:
        if _leads_on(under_way, request.open, now=now):
            return under_way
        if under_way.state == A.OPEN:
            raise _meanwhile()
        PaymentAttempt.objects.filter(pk=under_way.pk).update(state=A.EXPIRED)
    attempt = PaymentAttempt.objects.create(
        request=request, amount=request.open, currency=request.currency, created_at=now
    )
    audit.record(
        who, "begin a card payment", f"order {order.number}", now=now, reason=request.kind,
        detail={"amount": attempt.amount, "currency": attempt.currency},
    )  # fmt: skip
    return attempt


def _leads_on(attempt: PaymentAttempt, amount: int, *, now: datetime) -> bool:
    """Whether an attempt is over this amount and the provider still knows its key and session."""
    return attempt.amount == amount and attempt.created_at > now - KEY_IS_KEPT


def _close(attempts: QuerySet[PaymentAttempt], *, unless: int = 0, now: datetime) -> None:
    """Close sessions at the provider and take in what became of them; one that leads on to `unless` is left open."""
    for attempt in attempts:
        if not _leads_on(attempt, unless, now=now):
            card.expire(attempt.session or "")
            take_in(attempt, card.look_up(attempt.session or ""), now=now)


def close_sessions(payload: dict[str, Any]) -> None:
    """Job: close the sessions of an order that is cancelled; one paid meanwhile is booked and owed back."""
    if card.is_configured():
        open_ones = PaymentAttempt.objects.filter(request__order=payload["order"], state=A.OPEN)
        _close(open_ones, now=timezone.now())


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
    order = locked(Order.objects.get(payment_requests=attempt.request_id))
    if facts.payment_status == "paid":
        PaymentAttempt.objects.filter(pk=attempt.pk).update(state=A.PAID, session=facts.session)
        take(
            THE_SERVICE, order.payment_requests.get(pk=attempt.request_id), facts.amount, facts.currency,
            provider=card.PROVIDER, fact=f"{facts.payment}:receipt", received_on=today,
            today=today, now=now, fee=facts.fee, attempt=attempt,
        )  # fmt: skip
    elif facts.status == "expired":
        PaymentAttempt.objects.filter(pk=attempt.pk, state__in=PaymentAttempt.UNDER_WAY).update(
            state=A.EXPIRED
        )


def take_in(attempt: PaymentAttempt, facts: card.SessionFacts, *, now: datetime) -> None:
    """Settle an attempt that was asked about; one that does not fit is set aside and told to the owner."""
    misfit = _misfit(attempt, facts)
    if misfit:
        _set_aside(attempt, misfit, now=now)
    else:
        settle(attempt, facts, now=now)


def look_up_open_attempts(payload: dict[str, Any]) -> None:
    """Job: ask about every session left open for a while, so that a lost message leaves no payment unnoticed.

    One that the provider does not know, or tells something unreadable of, is set aside; a provider out of reach is asked
    in the next round.
    """
    if not card.is_configured():
        return
    now = timezone.now()
    due = PaymentAttempt.objects.filter(state=A.OPEN, created_at__lt=now - ASK_AGAIN_AFTER)
    for attempt in due.order_by("created_at"):
        try:
            take_in(attempt, card.look_up(attempt.session or ""), now=now)
        except (stripe.InvalidRequestError, KeyError, TypeError, ValueError) as fault:
            _set_aside(attempt, f"unreadable: {fault}", now=now)
        except stripe.APIConnectionError as trouble:
            log.warning("the card provider is out of reach: %s", trouble)
            return
        except stripe.StripeError as trouble:
            log.warning("the card provider does not tell of %s: %s", attempt, trouble)


@transaction.atomic
def _set_aside(attempt: PaymentAttempt, reason: str, *, now: datetime) -> None:
    if PaymentAttempt.objects.filter(pk=attempt.pk, state=A.OPEN).update(state=A.ASIDE):
        letters.alert_owner(
            _("A card payment was set aside, order %(number)s") % {"number": attempt.request.order.number},
            _("%(attempt)s: %(reason)s. Nothing was booked; please look at it with the provider.")
            % {"attempt": attempt, "reason": reason},
            now=now,
        )


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
