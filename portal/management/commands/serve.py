"""Start everything one machine needs: database, web process, worker, and in the demo the card stand-in."""

import argparse
import errno
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import OperationalError

from demo.people import SIGN_INS
from orders.models import BenchPerson

FLOOR_BYTES = 200_000_000
"""Below this much free disk the service does not start: the database must never fill it."""


def refuse_taken(host: str, port: int) -> None:
    """Raise CommandError in one sentence when nothing can listen there."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as trouble:
            if trouble.errno == errno.EADDRINUSE:
                raise CommandError(
                    f"Port {port} is taken by another program; choose one with --port."
                ) from None
            raise CommandError(f"Cannot listen on {host}:{port}: {trouble.strerror}.") from None


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Command(BaseCommand):
    help = "Starts the web process and the worker; Ctrl-C ends everything it started."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--workers", type=int, default=2)

    def handle(self, *args: Any, **options: Any) -> None:
        host, port = options["host"], options["port"]
        if not 1 <= port <= 65535:
            raise CommandError("--port takes a number from 1 to 65535.")
        if settings.DEMO and host not in ("127.0.0.1", "localhost", "::1"):
            raise CommandError(
                "The demo answers on this machine only; open a real workshop with open_workshop."
            )
        refuse_taken(host, port)
        if shutil.disk_usage(settings.VAR).free < FLOOR_BYTES:
            raise CommandError(
                f"The disk is nearly full: {FLOOR_BYTES // 1_000_000} MB free are needed in {settings.VAR}."
            )
        self.prepare()
        self.run_processes(host, port, options["workers"])

    def prepare(self) -> None:
        """Migrate, and load catalogue and demo workshop when the database is new."""
        try:
            call_command("migrate", verbosity=0, interactive=False)
        except OperationalError as trouble:
            raise CommandError(f"The database cannot be used: {trouble}") from None
        call_command("load_catalogue", verbosity=0)
        if settings.DEMO and not BenchPerson.objects.exists():
            self.stdout.write("Loading the demo workshop ...")
            self.stdout.flush()
            call_command("load_demo", verbosity=0)

    def run_processes(self, host: str, port: int, workers: int) -> None:
        environment = {**os.environ, "BASE_URL": os.environ.get("BASE_URL", f"http://{host}:{port}")}
        children: list[subprocess.Popen[bytes]] = []

        def start(*command: str) -> None:
            children.append(subprocess.Popen(command, env=environment, start_new_session=True))  # noqa: S603 -- fixed programs

        if settings.DEMO and not settings.STRIPE_API_KEY:
            card_port = free_port()
            environment |= {
                "STRIPE_API_KEY": "sk_test_demo",
                "STRIPE_API_BASE": f"http://127.0.0.1:{card_port}",
                "STRIPE_WEBHOOK_SECRETS": "whsec_demo",
            }
            start(
                sys.executable, "-m", "standin.payments", "--port", str(card_port),
                "--webhook", f"http://{host}:{port}/webhooks/card/", "--secret", "whsec_demo",
            )  # fmt: skip
        start(
            sys.executable, "-m", "gunicorn", "config.wsgi:application", "--preload", "--bind", f"{host}:{port}",
            "--workers", str(workers), "--threads", "4",
            "--log-level", "warning",
        )  # fmt: skip
        for name in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(name, signal.default_int_handler)
        try:
            self.wait_until_answering(host, port, children)
            if settings.CELERY_BROKER_URL:
                start(sys.executable, "-m", "celery", "-A", "config", "worker", "--beat", "--concurrency", "1",
                      "--schedule", str(settings.VAR / "beat"), "--loglevel", "WARNING")  # fmt: skip
            else:
                start("nice", "-n", "10", sys.executable, "manage.py", "work")
            self.say_where(host, port)
            while all(child.poll() is None for child in children):
                time.sleep(0.3)
            self.stderr.write("One of the processes ended; stopping the others.")
        except KeyboardInterrupt:
            self.stdout.write("Stopping.")
        finally:
            self.stop(children)

    def wait_until_answering(self, host: str, port: int, children: list[subprocess.Popen[bytes]]) -> None:
        for _ in range(300):
            if any(child.poll() is not None for child in children):
                raise CommandError("The service did not start; its reason stands above.")
            with socket.socket() as probe:
                if probe.connect_ex((host, port)) == 0:
                    return
            time.sleep(0.1)
        raise CommandError("The web process did not answer within 30 seconds.")

    def say_where(self, host: str, port: int) -> None:
        self.stdout.write(f"\nAirscrew Daybook answers at http://{host}:{port}/")
        if settings.DEMO:
            self.stdout.write(f"Demo data, this machine only. Sign in at http://{host}:{port}/account/login/")
            for role, email, how in SIGN_INS:
                self.stdout.write(f"  {role:<11} {email:<32} {how}")
            self.stdout.write(f"Mail is not sent; read it at http://{host}:{port}/mail/")
        self.stdout.write("Ctrl-C ends everything.\n")
        self.stdout.flush()

    def stop(self, children: list[subprocess.Popen[bytes]]) -> None:
        for child in reversed(children):
            if child.poll() is None:
                os.killpg(child.pid, signal.SIGTERM)
        for child in children:
            try:
                child.wait(timeout=10)
            except subprocess.TimeoutExpired:
                os.killpg(child.pid, signal.SIGKILL)
                child.wait()
