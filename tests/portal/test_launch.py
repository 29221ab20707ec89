"""Starting the service as its reader does: what cannot work is refused in one sentence, and one signal ends everything."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request

import pytest

from portal.launch import CannotStart, main, refuse


@pytest.fixture
def taken_port():
    with socket.socket() as holder:
        holder.bind(("127.0.0.1", 0))
        holder.listen()
        yield holder.getsockname()[1]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def test_a_taken_port_is_one_plain_sentence(taken_port, capsys):
    assert main(["--port", str(taken_port)]) == 1
    assert (
        capsys.readouterr().err == f"Port {taken_port} is taken by another program; choose one with --port.\n"
    )


def test_the_demo_is_bound_to_this_machine():
    with pytest.raises(CannotStart, match="answers on this machine only"):
        refuse("0.0.0.0", free_port(), demo=True)  # noqa: S104 -- the very thing refused


def test_a_full_disk_is_refused_before_anything_starts(monkeypatch, tmp_path):
    monkeypatch.setenv("DAYBOOK_VAR", str(tmp_path))
    monkeypatch.setattr("portal.launch.FLOOR_BYTES", 1 << 60)
    with pytest.raises(CannotStart, match="disk is nearly full"):
        refuse("127.0.0.1", free_port(), demo=True)


def test_links_that_nobody_could_follow_are_refused(monkeypatch):
    monkeypatch.delenv("BASE_URL", raising=False)
    with pytest.raises(CannotStart, match="Set BASE_URL"):
        refuse("0.0.0.0", free_port(), demo=False)  # noqa: S104 -- nothing is bound


def processes_that_name(text: str) -> list[str]:
    listing = subprocess.run(["ps", "-eo", "args"], capture_output=True, text=True, check=True).stdout
    return [line for line in listing.splitlines() if text in line]


def test_an_empty_workshop_answers_and_one_signal_ends_every_process(tmp_path):
    port = free_port()
    address = f"http://127.0.0.1:{port}"
    environment = {**os.environ, "DAYBOOK_MODE": "workshop", "DAYBOOK_VAR": str(tmp_path)}
    environment |= {"EMAIL_HOST": "127.0.0.1", "MAIL_FROM": "desk@shop.example"}
    environment.pop("DATABASE_URL", None)
    with (tmp_path / "said").open("w") as said:
        service = subprocess.Popen(
            [sys.executable, "-m", "portal.launch", "--port", str(port)],
            env=environment, stdout=said, stderr=said,
        )  # fmt: skip
        try:
            for _ in range(600):
                if address in (tmp_path / "said").read_text() or service.poll() is not None:
                    break
                time.sleep(0.1)
            assert service.poll() is None, (tmp_path / "said").read_text()
            assert urllib.request.urlopen(f"{address}/", timeout=30).status == 200  # noqa: S310
        finally:
            service.send_signal(signal.SIGINT)
            service.wait(timeout=30)
    assert service.returncode == 0
    assert "Traceback" not in (tmp_path / "said").read_text()
    assert processes_that_name(f"--port {port}") == []


def start(**given: str) -> subprocess.CompletedProcess[str]:
    """`manage.py web` where a setting must stop it."""
    environment = {
        name: value for name, value in os.environ.items() if name not in ("BASE_URL", "EMAIL_HOST")
    }
    return subprocess.run(
        [sys.executable, "manage.py", "web", "--port", str(free_port())],
        env=environment | given, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"DAYBOOK_MODE": "workshop"}, "EMAIL_HOST and MAIL_FROM must be set"),
        ({"DAYBOOK_MODE": "workshop", "EMAIL_HOST": "mail.example"}, "MAIL_FROM must be set"),
        ({"DAYBOOK_MODE": "production", "SECRET_KEY": "x" * 60}, "BASE_URL must be set in production"),
        (
            {"DAYBOOK_MODE": "production", "SECRET_KEY": "x" * 60, "BASE_URL": "http://shop.example"},
            "begin with https://",
        ),
        ({"BASE_URL": "shop.example"}, "BASE_URL must be an address"),
        ({"PROXIES": "two"}, "PROXIES must be a whole number"),
    ],
)
def test_a_setting_that_will_not_do_stops_the_start_in_one_sentence(given, said):
    run = start(**given)
    assert run.returncode == 1
    assert said in run.stderr and len(run.stderr.splitlines()) == 1


SHOWN = """
from django.conf import settings as s
print(s.EMAIL_BACKEND.split(".")[-2], s.SESSION_COOKIE_SECURE, s.SECURE_HSTS_SECONDS, s.ALLOWED_HOSTS[0],
      s.REST_FRAMEWORK["NUM_PROXIES"])
"""


@pytest.mark.parametrize(
    ("given", "wanted"),
    [
        ({"EMAIL_HOST": "mail.example"}, "dummy False 0 127.0.0.1 0"),
        ({"DAYBOOK_MODE": "workshop", "EMAIL_HOST": "mail.example"}, "smtp False 0 127.0.0.1 0"),
        (
            {"DAYBOOK_MODE": "workshop", "BASE_URL": "https://shop.example"},
            "smtp True 31536000 shop.example 1",
        ),
    ],
)
def test_the_address_decides_on_cookies_and_the_mode_on_mail(given, wanted):
    environment = {name: value for name, value in os.environ.items() if name != "BASE_URL"}
    run = subprocess.run(
        [sys.executable, "-c", SHOWN],
        env={**environment, "DJANGO_SETTINGS_MODULE": "config.settings", **given},
        capture_output=True, text=True, timeout=60, check=True,
    )  # fmt: skip
    assert run.stdout.strip() == wanted
