"""What every test shares: fast password hashing, and which tools are present."""

import os
import shutil

import pytest


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Without Chromium the browser tests are named as not run; with CI=true its absence is a failure."""
    if shutil.which("chromium") or os.environ.get("CI") == "true":
        return
    reason = pytest.mark.skip(reason="no Chromium; on Debian: apt-get install chromium")
    for item in items:
        if "browser" in item.keywords:
            item.add_marker(reason)


@pytest.fixture(autouse=True)
def quick_passwords(settings: object) -> None:
    """Argon2 is slow on purpose; tests need not wait for it."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]  # type: ignore[attr-defined]
