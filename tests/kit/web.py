"""The real application on a free port of this machine, several requests at a time, for the browser."""

from collections.abc import Iterator
from contextlib import contextmanager
from socketserver import ThreadingMixIn
from threading import Thread
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

from django.core.wsgi import get_wsgi_application
from django.db import connections


class Threaded(ThreadingMixIn, WSGIServer):
    """Each request in a thread that closes its database connection."""

    daemon_threads = True
    request_queue_size = 128

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        super().process_request_thread(request, client_address)
        connections.close_all()


class Quiet(WSGIRequestHandler):
    def log_message(self, format: str, *args: Any) -> None:
        return None


@contextmanager
def web() -> Iterator[str]:
    """Yields the address."""
    server = make_server("127.0.0.1", 0, get_wsgi_application(), Threaded, Quiet)
    Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        server.server_close()
