"""The whole path without a browser: one propeller from enquiry to dispatch in a fresh database under var/demo/.

Every step goes through the services, prints what happened with figures, and is checked; a broken promise exits non-zero.
"""

import os
import shutil
import sys
import time
from importlib import import_module
from pathlib import Path as File

import django

HOME = File(__file__).resolve().parent.parent
FOLDER = HOME / "var" / "demo"


def main() -> int:
    """Prepare the fresh database, then walk in it; 0 when every promise was kept."""
    shutil.rmtree(FOLDER, ignore_errors=True)
    FOLDER.mkdir(parents=True)
    os.environ |= {
        "DAYBOOK_VAR": str(FOLDER),
        "DAYBOOK_MODE": "demo",
        "DJANGO_SETTINGS_MODULE": "config.settings",
    }
    os.environ.pop("DATABASE_URL", None)
    os.environ.pop("CELERY_BROKER_URL", None)
    began = time.monotonic()
    django.setup()
    steps = import_module("demo.steps")
    try:
        steps.walk(FOLDER)
    except steps.BrokenPromise as broken:
        print(f"BROKEN PROMISE: {broken}", file=sys.stderr)
        return 1
    print(
        f"Done in {time.monotonic() - began:.1f} s. The documents are in {FOLDER.relative_to(HOME)}/papers/"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
