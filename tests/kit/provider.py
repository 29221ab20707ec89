"""The stand-in card provider as its own process, and levers to steer it from a test."""

import json
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

SECRET = "whsec_test_of_ours"


class StandIn:
    """A running stand-in: `address` for the library, the rest for the test."""

    def __init__(self, address: str) -> None:
        self.address = address

    def ask(self, path: str, form: str | None = None) -> dict[str, Any]:
        call = urllib.request.Request(f"{self.address}{path}", None if form is None else form.encode())  # noqa: S310
        with urllib.request.urlopen(call, timeout=10) as answer:  # noqa: S310
            body = answer.read()
        return json.loads(body) if body.startswith(b"{") else {}

    def pay(self, session: str, choice: str = "now") -> None:
        """The customer presses a button on the pay page; the redirect leads to a page that need not exist."""

        class Stay(urllib.request.HTTPRedirectHandler):
            def redirect_request(self, *args: Any) -> None:
                return None

        opener = urllib.request.build_opener(Stay)
        try:
            opener.open(f"{self.address}/pay/{session}", f"choice={choice}".encode(), timeout=10)
        except urllib.error.HTTPError as answer:
            assert answer.code == 303, answer.code

    def events(self) -> list[dict[str, Any]]:
        return self.ask("/_standin/state")["events"]


@contextmanager
def stand_in(webhook: str = "") -> Iterator[StandIn]:
    process = subprocess.Popen(
        [sys.executable, "-m", "standin.payments", "--port", "0", "--secret", SECRET, "--webhook", webhook],
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert process.stdout
        yield StandIn(process.stdout.readline().split()[-1])
    finally:
        process.terminate()
        process.wait(10)
