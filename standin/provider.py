"""What the stand-in remembers and does: sessions, intents, charges, refunds, events and their signed delivery."""

import json
import secrets
import threading
import time
import urllib.error
import urllib.request
from dataclasses import dataclass, field
from typing import Any

import stripe

API_VERSION = stripe.api_version
FEE_PERCENT_MILLI = 2_900
FEE_FIXED = 30
SESSION_SECONDS = 24 * 3600


class Refusal(Exception):
    """An error answer in the provider's shape."""

    def __init__(
        self, status: int, message: str, *, kind: str = "invalid_request_error", code: str = ""
    ) -> None:
        super().__init__(message)
        self.status = status
        self.body = {"error": {"type": kind, "message": message, **({"code": code} if code else {})}}


@dataclass
class Provider:
    """Everything the stand-in remembers. One lock guards it; deliveries are made outside the lock."""

    address: str = ""
    webhook: str = ""
    secret: str = "whsec_standin"  # noqa: S105
    hold: bool = False
    fail_after_next: bool = False
    sessions: dict[str, dict[str, Any]] = field(default_factory=dict)
    intents: dict[str, dict[str, Any]] = field(default_factory=dict)
    charges: dict[str, dict[str, Any]] = field(default_factory=dict)
    refunds: dict[str, dict[str, Any]] = field(default_factory=dict)
    events: list[dict[str, Any]] = field(default_factory=list)
    deliveries: list[dict[str, Any]] = field(default_factory=list)
    answers: dict[str, tuple[str, int, dict[str, Any]]] = field(default_factory=dict)
    lock: threading.RLock = field(default_factory=threading.RLock)

    # sessions

    def create_session(self, form: dict[str, Any]) -> dict[str, Any]:
        item = _first(form.get("line_items"))
        price = item.get("price_data") or {}
        amount = _whole(price.get("unit_amount"), "line_items[0][price_data][unit_amount]") * _whole(
            item.get("quantity", "1"), "line_items[0][quantity]"
        )
        if form.get("mode") != "payment":
            raise Refusal(400, "Only mode payment is known here.")
        if not form.get("success_url"):
            raise Refusal(400, "Missing required param: success_url.")
        if amount < 50:
            raise Refusal(
                400, "The amount is below the smallest that can be charged.", code="amount_too_small"
            )
        session = {
            "id": f"cs_test_{secrets.token_hex(16)}",
            "object": "checkout.session",
            "mode": "payment",
            "amount_total": amount,
            "currency": str(price.get("currency", "")).lower(),
            "client_reference_id": form.get("client_reference_id"),
            "metadata": form.get("metadata") or {},
            "customer_email": form.get("customer_email"),
            "success_url": form["success_url"],
            "cancel_url": form.get("cancel_url"),
            "created": int(time.time()),
            "expires_at": int(time.time()) + SESSION_SECONDS,
            "livemode": False,
            "payment_intent": None,
            "payment_status": "unpaid",
            "status": "open",
            "what": (price.get("product_data") or {}).get("name", ""),
        }
        session["url"] = f"{self.address}/pay/{session['id']}"
        self.sessions[session["id"]] = session
        return session

    def expire_session(self, session: dict[str, Any]) -> dict[str, Any]:
        if session["status"] != "open":
            raise Refusal(400, f"Only open sessions can be expired; this one is {session['status']}.")
        session["status"] = "expired"
        self.tell("checkout.session.expired", session)
        return session

    def pay_session(self, session: dict[str, Any], *, delayed: bool = False) -> None:
        """The customer pays: at once, or by a method that settles later (completed but unpaid first)."""
        if session["status"] != "open":
            raise Refusal(400, f"This session is {session['status']}.")
        session["status"] = "complete"
        session["payment_intent"] = f"pi_{secrets.token_hex(12)}"
        self.intents[session["payment_intent"]] = {
            "id": session["payment_intent"],
            "object": "payment_intent",
            "amount": session["amount_total"],
            "currency": session["currency"],
            "status": "processing" if delayed else "succeeded",
            "metadata": session["metadata"],
            "livemode": False,
            "latest_charge": None,
        }
        if delayed:
            self.tell("checkout.session.completed", session)
        else:
            self._charge(session)
            self.tell("checkout.session.completed", session)

    def settle_later(self, session: dict[str, Any], *, succeeded: bool) -> None:
        """The delayed method settles, one way or the other."""
        intent = self.intents[session["payment_intent"]]
        if intent["status"] != "processing":
            raise Refusal(400, f"The payment is {intent['status']}.")
        if succeeded:
            self._charge(session)
            self.tell("checkout.session.async_payment_succeeded", session)
        else:
            intent["status"] = "requires_payment_method"
            self.tell("checkout.session.async_payment_failed", session)

    def _charge(self, session: dict[str, Any]) -> None:
        intent = self.intents[session["payment_intent"]]
        # half up, as the worked example of a deposit takes its fee
        fee = (intent["amount"] * FEE_PERCENT_MILLI + 50_000) // 100_000 + FEE_FIXED
        charge = f"ch_{secrets.token_hex(12)}"
        self.charges[charge] = {
            "id": charge,
            "object": "charge",
            "amount": intent["amount"],
            "amount_refunded": 0,
            "currency": intent["currency"],
            "payment_intent": intent["id"],
            "balance_transaction": {
                "id": f"txn_{secrets.token_hex(12)}",
                "object": "balance_transaction",
                "amount": intent["amount"],
                "fee": fee,
                "net": intent["amount"] - fee,
                "currency": intent["currency"],
            },
        }
        intent.update(status="succeeded", latest_charge=charge)
        session["payment_status"] = "paid"

    # refunds

    def create_refund(self, form: dict[str, Any]) -> dict[str, Any]:
        intent = self.intents.get(str(form.get("payment_intent")))
        if intent is None or intent["status"] != "succeeded":
            raise Refusal(400, "There is no such succeeded payment to refund.")
        charge = self.charges[intent["latest_charge"]]
        left = charge["amount"] - charge["amount_refunded"]
        amount = _whole(form.get("amount", left), "amount")
        if not 0 < amount <= left:
            raise Refusal(
                400, f"Refund amount ({amount}) is more than is left ({left}).", code="amount_too_large"
            )
        charge["amount_refunded"] += amount
        refund = {
            "id": f"re_{secrets.token_hex(12)}",
            "object": "refund",
            "amount": amount,
            "currency": intent["currency"],
            "payment_intent": intent["id"],
            "charge": charge["id"],
            "metadata": form.get("metadata") or {},
            "status": "succeeded",
        }
        self.refunds[refund["id"]] = refund
        self.tell("charge.refunded", charge)
        self.tell("refund.created", refund)
        return refund

    # events

    def tell(self, kind: str, thing: dict[str, Any]) -> dict[str, Any]:
        """Remember an event with a copy of the object as it is now, and deliver it unless deliveries are held."""
        event = {
            "id": f"evt_{secrets.token_hex(12)}",
            "object": "event",
            "api_version": API_VERSION,
            "created": int(time.time()),
            "livemode": False,
            "type": kind,
            "data": {"object": json.loads(json.dumps(thing))},
        }
        self.events.append(event)
        if self.webhook and not self.hold:
            threading.Thread(target=self.deliver, args=(event,), daemon=True).start()
        return event

    def deliver(self, event: dict[str, Any], *, tries: int = 6) -> int:
        """Send an event, again while the answer is not 2xx, with growing pauses; the last status, 0 for no answer."""
        status = 0
        for attempt in range(tries):
            status = self.deliver_once(event)
            if 200 <= status < 300:
                break
            time.sleep(min(5.0, 0.2 * 3**attempt))
        return status

    def deliver_once(self, event: dict[str, Any]) -> int:
        body = json.dumps(event, separators=(",", ":"))
        signature = stripe.WebhookSignature.generate_signature_header(body, self.secret)
        call = urllib.request.Request(  # noqa: S310 - the address comes from the one who started this process
            self.webhook,
            body.encode(),
            {"Content-Type": "application/json; charset=utf-8", "Stripe-Signature": signature},
        )
        try:
            with urllib.request.urlopen(call, timeout=10) as answer:  # noqa: S310
                status = int(answer.status)
        except urllib.error.HTTPError as refusal:
            status = refusal.code
        except OSError:
            status = 0
        with self.lock:
            self.deliveries.append({"event": event["id"], "type": event["type"], "status": status})
        return status

    # idempotency

    def once(self, key: str, form: str, act: Any) -> tuple[int, dict[str, Any]]:
        """The provider's rule: the first answer to a key is given again; another form under it is an error."""
        if key in self.answers:
            form_before, status, answer = self.answers[key]
            if form_before != form:
                raise Refusal(
                    400, "This idempotency key was used with other parameters.", kind="idempotency_error"
                )
            return status, answer
        answer = json.loads(json.dumps(act()))
        if key:
            self.answers[key] = (form, 200, answer)
        return 200, answer


def _first(items: Any) -> dict[str, Any]:
    if not isinstance(items, dict) or list(items) != ["0"]:
        raise Refusal(400, "Exactly one line item is known here.")
    item: dict[str, Any] = items["0"]
    return item


def _whole(value: Any, name: str) -> int:
    text = str(value)
    if not text.isascii() or not text.isdigit():
        raise Refusal(400, f"Invalid integer: {name}.")
    return int(text)
