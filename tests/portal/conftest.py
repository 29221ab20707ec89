"""What the tests of the pages share: the prepared shop with the clock of today, and a fixed cast of readers.

Alice owns the enquiry, quote and order; Charlie is a stranger with an account; the owner works here.
"""

from collections.abc import Iterator

import pytest
from django.contrib.auth.models import User
from django.core.cache import caches
from django.test import Client
from django.utils import timezone

from orders.models import Customer
from tests.kit.databases import SQLiteFile
from tests.orders.shop import Shop


@pytest.fixture
def shop(sqlite_template: SQLiteFile, django_db_blocker, settings, tmp_path) -> Iterator[Shop]:
    """The prepared shop on its own copy of a SQLite file, at this very moment, with files of its own."""
    settings.STORAGES = {
        **settings.STORAGES,
        "default": {
            "BACKEND": "django.core.files.storage.FileSystemStorage",
            "OPTIONS": {"location": tmp_path / "files"},
        },
    }
    caches["here"].clear()
    with django_db_blocker.unblock(), sqlite_template.fresh():
        yield Shop(now=timezone.now())


@pytest.fixture
def anyone(shop: Shop) -> Client:
    """Somebody not signed in."""
    return Client()


def signed_in(user: User) -> Client:
    client = Client()
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def alice(shop: Shop) -> Client:
    """The customer of the shop's enquiries, signed in."""
    user = User.objects.create(username="alice", email="alice@example.org")
    Customer.objects.update_or_create(
        email="alice@example.org", defaults={"name": "Alice Wren", "user": user, "created_at": shop.now}
    )
    return signed_in(user)


@pytest.fixture
def charlie(shop: Shop) -> Client:
    """Another customer, signed in."""
    user = User.objects.create(username="charlie", email="charlie@example.org")
    Customer.objects.create(name="Charlie", email="charlie@example.org", user=user, created_at=shop.now)
    return signed_in(user)


@pytest.fixture
def owner(shop: Shop) -> Client:
    """The owner of the workshop, signed in."""
    return signed_in(User.objects.get(username="owner"))
