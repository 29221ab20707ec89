"""Start everything one machine needs: web process, worker, and in the demo the card stand-in; Ctrl-C ends them all.

Run by `bin/serve`. It loads no Django itself, so that it refuses at once what cannot work (a taken port, a full disk) and
sets the environment that config/settings.py reads before any process starts.
"""

import argparse
import errno
import os
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

from demo.people import SIGN_INS

HOME = Path(__file__).resolve().parent.parent
FLOOR_BYTES = 200_000_000
"""Below this much free disk the service does not start: the database must never fill it."""
LOOPBACK = ("127.0.0.1", "localhost", "::1")


ENDING = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


class CannotStart(Exception):
    """Why the service cannot start, in one plain sentence."""


def main(arguments: list[str] | None = None) -> int:
    """Run until a process ends or Ctrl-C; returns the exit code."""
    parser = argparse.ArgumentParser(prog="bin/serve", description=__doc__)
    parser.add_argument("--port", type=int, default=8000)
    parser.add_argument("--host", default="127.0.0.1")
    parser.add_argument("--workers", type=int, default=2, help="web processes")
    asked = parser.parse_args(arguments)
    demo = os.environ.get("DAYBOOK_MODE", "demo").strip() == "demo"
    try:
        refuse(asked.host, asked.port, demo)
        return Processes(asked.host, asked.port, asked.workers, demo).run()
    except CannotStart as reason:
        print(reason, file=sys.stderr)
        return 1


def refuse(host: str, port: int, demo: bool) -> None:
    """Raise CannotStart when port, address or disk will not do."""
    if not 1 <= port <= 65535:
        raise CannotStart("--port takes a number from 1 to 65535.")
    if demo and host not in LOOPBACK:
        raise CannotStart("The demo answers on this machine only; open a real workshop with open_workshop.")
    if host not in LOOPBACK and not os.environ.get("BASE_URL", "").strip():
        raise CannotStart(
            "Set BASE_URL to the address this service is found at, such as http://workshop.lan:8000; "
            "links in mails begin with it."
        )
    with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as trouble:
            if trouble.errno == errno.EADDRINUSE:
                raise CannotStart(
                    f"Port {port} is taken by another program; choose one with --port."
                ) from None
            raise CannotStart(f"Cannot listen on {host}:{port}: {trouble.strerror}.") from None
    var = Path(os.environ.get("DAYBOOK_VAR", str(HOME / "var")))
    try:
        var.mkdir(parents=True, exist_ok=True)
    except OSError as trouble:
        raise CannotStart(f"Nothing can be written in {var}: {trouble.strerror}.") from None
    if shutil.disk_usage(var).free < FLOOR_BYTES:
        raise CannotStart(f"The disk is nearly full: {FLOOR_BYTES // 1_000_000} MB free are needed in {var}.")


def end_once(*_: object) -> None:
    """Answer the first signal, and let nobody's impatience interrupt the ending of the others."""
    for name in ENDING:
        signal.signal(name, signal.SIG_IGN)
    raise KeyboardInterrupt


class Processes:
    """The processes of one start, each the leader of its own group so that all of it can be ended."""

    def __init__(self, host: str, port: int, workers: int, demo: bool) -> None:
        self.host, self.port, self.workers, self.demo = host, port, workers, demo
        self.address = f"http://{f'[{host}]' if ':' in host else host}:{port}"
        self.environment = {**os.environ}
        if os.environ.get("DAYBOOK_MODE", "").strip() != "production":
            self.environment.setdefault("BASE_URL", self.address)
        self.children: list[subprocess.Popen[bytes]] = []

    def run(self) -> int:
        """Start them in the order in which they need each other, and stay until one ends or a signal comes."""
        for name in ENDING:
            signal.signal(name, end_once)
        try:
            if self.demo and not os.environ.get("STRIPE_API_KEY"):
                self.start_card_stand_in()
            self.start(
                sys.executable, "manage.py", "web", "--host", self.host, "--port", str(self.port),
                "--workers", str(self.workers),
            )  # fmt: skip
            self.wait_until_answering()
            self.start_worker()
            self.say_where()
            while all(child.poll() is None for child in self.children):
                time.sleep(0.3)
            print("One of the processes ended; stopping the others.", file=sys.stderr)
            return 1
        except KeyboardInterrupt:
            print("Stopping.")
            return 0
        finally:
            self.stop()

    def start(self, *command: str) -> None:
        self.children.append(
            subprocess.Popen(command, cwd=HOME, env=self.environment, start_new_session=True)  # noqa: S603 -- fixed programs
        )

    def start_card_stand_in(self) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            port = probe.getsockname()[1]
        secret = f"whsec_{secrets.token_hex(16)}"
        self.environment |= {
            "STRIPE_API_KEY": "sk_test_demo",
            "STRIPE_API_BASE": f"http://127.0.0.1:{port}",
            "STRIPE_WEBHOOK_SECRETS": secret,
        }
        self.start(
            sys.executable, "-m", "standin.payments", "--port", str(port),
            "--webhook", f"{self.address}/webhooks/card/", "--secret", secret,
        )  # fmt: skip

    def start_worker(self) -> None:
        if os.environ.get("CELERY_BROKER_URL"):
            schedule = Path(os.environ.get("DAYBOOK_VAR", str(HOME / "var"))) / "beat"
            self.start(sys.executable, "-m", "celery", "-A", "config", "worker", "--beat", "--concurrency", "1",
                       "--schedule", str(schedule), "--loglevel", "WARNING")  # fmt: skip
        else:
            self.start("nice", "-n", "10", sys.executable, "manage.py", "work")

    def wait_until_answering(self) -> None:
        """A new database first loads its demo workshop, which takes a minute on a small machine."""
        for _ in range(6000):
            if any(child.poll() is not None for child in self.children):
                raise CannotStart("The service did not start; its reason stands above.")
            with socket.socket(socket.AF_INET6 if ":" in self.host else socket.AF_INET) as probe:
                if probe.connect_ex((self.host, self.port)) == 0:
                    return
            time.sleep(0.05)
        raise CannotStart("The web process did not answer within five minutes.")

    def say_where(self) -> None:
        print(f"\nAirscrew Daybook answers at {self.address}/")
        if self.demo:
            print(f"Demo data, this machine only. Sign in at {self.address}/account/login/")
            for role, email, how in SIGN_INS:
                print(f"  {role:<11} {email:<32} {how}")
            print(f"Mail is not sent; read it at {self.address}/mail/")
        print("Ctrl-C ends everything.\n", flush=True)

    def stop(self) -> None:
        for child in reversed(self.children):
            if child.poll() is None:
                os.killpg(child.pid, signal.SIGTERM)
        for child in self.children:
            try:
                child.wait(timeout=10)
            except subprocess.TimeoutExpired:
                os.killpg(child.pid, signal.SIGKILL)
                child.wait()


if __name__ == "__main__":
    sys.exit(main())
