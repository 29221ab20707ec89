"""What the tests of the desk share: the cast of the pages, and the people at the bench and at the books."""

import pytest
from django.contrib.auth.models import User
from django.test import Client

from tests.orders.shop import Shop
from tests.portal.conftest import alice, anyone, charlie, owner, shop, signed_in  # noqa: F401


@pytest.fixture
def bench(shop: Shop) -> Client:  # noqa: F811
    """Wes, who works at the bench."""
    return signed_in(User.objects.get(username="bench"))


@pytest.fixture
def bookkeeper(shop: Shop) -> Client:  # noqa: F811
    """Who keeps the books."""
    return signed_in(User.objects.get(username="bookkeeper"))
