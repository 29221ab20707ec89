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
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qsl, urlsplit

from standin.provider import Provider, Refusal


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
                paid = dict(parse_qsl(urlsplit(self.path).query)).get("payment_intent")
                rows = [r for r in p.refunds.values() if r["payment_intent"] == paid][::-1]
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
