"""Loaded before Django's settings: the tests write to a folder of their own and never to var."""

import atexit
import os
import shutil
import tempfile

if "PYTEST_XDIST_WORKER" in os.environ or "DAYBOOK_TESTS_VAR" not in os.environ:
    folder = tempfile.mkdtemp(prefix="daybook-tests-")
    os.environ["DAYBOOK_TESTS_VAR"] = folder
    os.environ["DAYBOOK_VAR"] = folder
    os.environ["DAYBOOK_MODE"] = "demo"
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    for name in (
        *("DATABASE_URL", "CELERY_BROKER_URL", "STRIPE_API_KEY", "STRIPE_API_BASE"),
        *("EMAIL_HOST", "BASE_URL", "PROXIES"),
    ):
        os.environ.pop(name, None)
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
