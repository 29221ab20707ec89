"""The card provider of the demonstration: the stand-in as its own process, and the customer who pays on its page."""

import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPMessage
from threading import Thread
from typing import IO, Any
from wsgiref.simple_server import WSGIRequestHandler, make_server

from django.core.wsgi import get_wsgi_application


class Quiet(WSGIRequestHandler):
    """Answers without a line on the screen for each request."""

    def log_message(self, format: str, *args: Any) -> None:
        return None


class Stay(urllib.request.HTTPRedirectHandler):
    """Does not follow where the provider sends the customer back to."""

    def redirect_request(
        self, req: Any, fp: IO[bytes], code: int, msg: str, headers: HTTPMessage, newurl: str
    ) -> None:
        return None


@contextmanager
def web_process() -> Iterator[str]:
    """The real application on a free port of this machine, for the provider's messages; yields its address."""
    server = make_server("127.0.0.1", 0, get_wsgi_application(), handler_class=Quiet)
    Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        server.server_close()


@contextmanager
def provider(webhook: str, secret: str) -> Iterator[str]:
    """The stand-in, sending its signed messages to `webhook`; yields its address."""
    process = subprocess.Popen(  # noqa: S603 -- our own program with our own arguments
        [sys.executable, "-m", "standin.payments", "--port", "0", "--secret", secret, "--webhook", webhook],
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        yield process.stdout.readline().split()[-1] if process.stdout else ""
    finally:
        process.terminate()
        process.wait(10)


def pay(page: str) -> None:
    """The customer presses the button on the provider's page."""
    opener = urllib.request.build_opener(Stay)
    try:
        opener.open(page, b"choice=now", timeout=10)
    except urllib.error.HTTPError as answer:
        if answer.code != 303:
            raise
