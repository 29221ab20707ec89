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


def processes_that_name(text: str) -> list[str]:
    listing = subprocess.run(["ps", "-eo", "args"], capture_output=True, text=True, check=True).stdout
    return [line for line in listing.splitlines() if text in line]


def test_an_empty_workshop_answers_and_one_signal_ends_every_process(tmp_path):
    port = free_port()
    address = f"http://127.0.0.1:{port}"
    environment = {**os.environ, "DAYBOOK_MODE": "workshop", "DAYBOOK_VAR": str(tmp_path)}
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
