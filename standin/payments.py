"""A stand-in for the card provider: checkout sessions, payment intents, refunds, idempotency and signed webhooks.

Runs as its own process on loopback: `python -m standin.payments --port 8021 --webhook URL --secret whsec_...`.
No card exists and no money moves. Beyond the provider's own paths it offers a pay page, and under /_standin/ levers for
tests: list what was sent, send an event again, hold deliveries back, let the next call fail after it was carried out.
"""

import argparse
import html
import json
import secrets
import threading
import time
import urllib.error
import urllib.request
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qsl, urlsplit

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


class Door(BaseHTTPRequestHandler):
    """HTTP in, provider's words out."""

    provider: Provider
    protocol_version = "HTTP/1.1"

    def do_GET(self) -> None:
        self._answer(self._get)

    def do_POST(self) -> None:
        self._answer(self._post)

    def _get(self) -> None:
        path = urlsplit(self.path).path
        p = self.provider
        match path.strip("/").split("/"):
            case ["pay", session]:
                self._page(_found(p.sessions, session))
            case ["v1", "checkout", "sessions", session]:
                self._json(200, self._expanded(_found(p.sessions, session)))
            case ["v1", "payment_intents", intent]:
                self._json(200, _found(p.intents, intent))
            case ["v1", "refunds"]:
                intent = dict(parse_qsl(urlsplit(self.path).query)).get("payment_intent")
                rows = [r for r in p.refunds.values() if r["payment_intent"] == intent][::-1]
                self._json(200, {"object": "list", "url": "/v1/refunds", "has_more": False, "data": rows})
            case ["v1", "refunds", refund]:
                self._json(200, _found(p.refunds, refund))
            case ["v1", "events"]:
                self._json(
                    200, {"object": "list", "url": "/v1/events", "has_more": False, "data": p.events[::-1]}
                )
            case ["_standin", "state"]:
                self._json(200, {"sessions": p.sessions, "events": p.events, "deliveries": p.deliveries})
            case _:
                raise Refusal(404, f"Unrecognized request URL (GET: {path}).")

    def _post(self) -> None:
        path = urlsplit(self.path).path
        raw = self.rfile.read(int(self.headers.get("Content-Length") or 0)).decode()
        form = nested(raw)
        p = self.provider
        match path.strip("/").split("/"):
            case ["v1", "checkout", "sessions"]:
                self._once(raw, lambda: p.create_session(form))
            case ["v1", "checkout", "sessions", session, "expire"]:
                self._once(raw, lambda: p.expire_session(_found(p.sessions, session)))
            case ["v1", "refunds"]:
                self._once(raw, lambda: p.create_refund(form))
            case ["pay", session]:
                self._pay(_found(p.sessions, session), form)
            case ["_standin", "settle", session]:
                p.settle_later(_found(p.sessions, session), succeeded=form.get("succeeded") != "no")
                self._json(200, {})
            case ["_standin", "hold"]:
                p.hold = form.get("on") == "yes"
                self._json(200, {})
            case ["_standin", "fail-after-next"]:
                p.fail_after_next = True
                self._json(200, {})
            case ["_standin", "deliver", event_id]:
                event = next((e for e in p.events if e["id"] == event_id), None)
                if event is None:
                    raise Refusal(404, "No such event.")
                threading.Thread(target=p.deliver, args=(event,), daemon=True).start()
                self._json(200, {})
            case _:
                raise Refusal(404, f"Unrecognized request URL (POST: {path}).")

    def _once(self, raw: str, act: Any) -> None:
        key = self.headers.get("Idempotency-Key") or ""
        status, answer = self.provider.once(key, f"{self.path} {raw}", act)
        if self.provider.fail_after_next:
            self.provider.fail_after_next = False
            self.close_connection = True
            return
        self._json(status, answer)

    def _expanded(self, session: dict[str, Any]) -> dict[str, Any]:
        """The session, its payment and charge written out when asked for."""
        asked = [value for name, value in parse_qsl(urlsplit(self.path).query) if name.startswith("expand")]
        full = dict(session)
        if full["payment_intent"] and any(path.startswith("payment_intent") for path in asked):
            intent = dict(self.provider.intents[full["payment_intent"]])
            if intent["latest_charge"]:
                intent["latest_charge"] = self.provider.charges[intent["latest_charge"]]
            full["payment_intent"] = intent
        return full

    def _pay(self, session: dict[str, Any], form: dict[str, Any]) -> None:
        if form.get("choice") == "back":
            self._redirect(session["cancel_url"] or session["success_url"])
            return
        self.provider.pay_session(session, delayed=form.get("choice") == "later")
        self._redirect(session["success_url"].replace("{CHECKOUT_SESSION_ID}", session["id"]))

    def _page(self, session: dict[str, Any]) -> None:
        amount = f"{session['amount_total']} {session['currency'].upper()} (smallest units)"
        form = (
            '<form method="post">'
            '<button name="choice" value="now">Pay now</button> '
            '<button name="choice" value="later">Pay by a slow method</button> '
            '<button name="choice" value="back">Go back</button></form>'
            if session["status"] == "open"
            else f"<p>This session is {html.escape(session['status'])}.</p>"
        )
        self._send(
            200,
            "text/html; charset=utf-8",
            '<!doctype html><html lang="en"><meta charset="utf-8">'
            '<meta name="viewport" content="width=device-width"><title>Stand-in card provider</title>'
            f"<h1>Stand-in card provider</h1><p>No card, no money: this page belongs to the demonstration.</p>"
            f"<p>{html.escape(session['what'])}: <strong>{html.escape(amount)}</strong></p>{form}</html>",
        )

    def _answer(self, act: Any) -> None:
        try:
            with self.provider.lock:
                act()
        except Refusal as refusal:
            self._json(refusal.status, refusal.body)

    def _redirect(self, address: str) -> None:
        self._send(303, "text/plain", "", {"Location": address})

    def _json(self, status: int, body: Any) -> None:
        self._send(
            status, "application/json", json.dumps(body), {"Request-Id": f"req_{secrets.token_hex(8)}"}
        )

    def _send(self, status: int, kind: str, text: str, headers: dict[str, str] | None = None) -> None:
        body = text.encode()
        self.send_response(status)
        for name, value in {
            "Content-Type": kind,
            "Content-Length": str(len(body)),
            **(headers or {}),
        }.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, format: str, *args: Any) -> None:
        """Quiet: the events can be listed under /_standin/state."""


def nested(raw: str) -> dict[str, Any]:
    """A form with bracketed names as dictionaries: "a[b][0]=c" gives {"a": {"b": {"0": "c"}}}."""
    result: dict[str, Any] = {}
    for name, value in parse_qsl(raw, keep_blank_values=True):
        parts = name.replace("]", "").split("[")
        place = result
        for part in parts[:-1]:
            place = place.setdefault(part, {})
        place[parts[-1]] = value
    return result


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


def _found(things: dict[str, dict[str, Any]], name: str) -> dict[str, Any]:
    if name not in things:
        raise Refusal(404, f"No such object: {name}.", code="resource_missing")
    return things[name]


def server(port: int = 0, *, webhook: str = "", secret: str = "whsec_standin") -> ThreadingHTTPServer:  # noqa: S107
    """A server on loopback, not yet serving; port 0 takes a free one. `server.provider` is its memory."""
    door = type("Door", (Door,), {"provider": Provider(webhook=webhook, secret=secret)})
    made = ThreadingHTTPServer(("127.0.0.1", port), door)
    made.daemon_threads = True
    door.provider.address = f"http://127.0.0.1:{made.server_address[1]}"  # type: ignore[attr-defined]
    made.provider = door.provider  # type: ignore[attr-defined]
    return made


def main() -> None:
    parser = argparse.ArgumentParser(description="A local card provider for demo and tests. No money moves.")
    parser.add_argument("--port", type=int, default=8021)
    parser.add_argument("--webhook", default="", help="where signed events are sent")
    parser.add_argument("--secret", default="whsec_standin", help="what they are signed with")
    options = parser.parse_args()
    running = server(options.port, webhook=options.webhook, secret=options.secret)
    print(f"stand-in card provider on http://127.0.0.1:{running.server_address[1]}", flush=True)
    try:
        running.serve_forever()
    except KeyboardInterrupt:
        running.server_close()


if __name__ == "__main__":
    main()
