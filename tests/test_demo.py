"""The demonstration keeps its promises: the walk ends well and leaves its documents, and a broken one is told."""

import os
import subprocess
import sys
from datetime import timedelta
from pathlib import Path
from random import Random

import pytest
from django.utils import timezone

from demo import history
from demo.path import BrokenPromise
from demo.path import Path as Way
from demo.steps import promise
from demo.workshop import open_demo
from orders.models import Order, Propeller
from orders.services import verify
from quoting.services.catalogue_load import load_catalogue

ROOT = Path(__file__).resolve().parent.parent


@pytest.mark.timeout(400)
def test_the_walk_from_enquiry_to_dispatch_ends_well_and_leaves_its_papers() -> None:
    run = subprocess.run(
        [sys.executable, "-m", "demo.walk"], cwd=ROOT, capture_output=True, text=True, timeout=380, check=False,
        env={**os.environ, "DAYBOOK_VAR": "", "PYTHONWARNINGS": "error::RuntimeWarning"},
    )  # fmt: skip
    assert run.returncode == 0, run.stdout + run.stderr
    papers = {path.name.split("-2")[0] for path in (ROOT / "var" / "demo" / "papers").iterdir()}
    assert {"quote-Q", "invoice-I", "build-record", "care-sheet", "journal.csv"} <= papers


def test_a_promise_that_is_not_kept_stops_the_walk() -> None:
    with pytest.raises(BrokenPromise, match="two orders"):
        promise(False, "two orders")


@pytest.mark.django_db
@pytest.mark.timeout(200)
def test_a_finished_order_of_the_history_is_dispatched_and_the_books_are_in_order() -> None:
    load_catalogue(ROOT / "fixtures" / "catalogue")
    now = timezone.now()
    open_demo(now)
    history.finished_order(Way(now.replace(hour=9) - timedelta(days=200), Random(3)), 0)
    assert Order.objects.get().state == Order.State.DISPATCHED
    assert Propeller.objects.get().state == Propeller.State.DISPATCHED
    assert list(verify.faults()) == []
