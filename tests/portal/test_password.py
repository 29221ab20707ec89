"""Whoever works here signs in with a password; a wrong one is told, and nobody is let in without one."""

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from tests.orders.shop import Shop


@pytest.fixture
def owner_with_password(shop: Shop) -> User:
    user = User.objects.get(username="owner")
    user.set_password("spokeshave-and-glue")
    user.save()
    return user


def sign_in(anyone: Client, password: str) -> str:
    typed = {"login": "owner@example.org", "password": password}
    return anyone.post(reverse("account_login"), typed, follow=True).request["PATH_INFO"]


def test_the_form_asks_for_a_password(anyone: Client) -> None:
    assert 'type="password"' in anyone.get(reverse("account_login")).content.decode()


def test_the_owner_signs_in_and_finds_the_morning_sheet(anyone: Client, owner_with_password: User) -> None:
    assert sign_in(anyone, "spokeshave-and-glue") == reverse("desk:morning")


@pytest.mark.parametrize("password", ["", "wrong"])
def test_without_the_right_password_nobody_comes_in(
    anyone: Client, owner_with_password: User, password: str
) -> None:
    assert sign_in(anyone, password) == reverse("account_login")
    assert anyone.get(reverse("desk:morning")).status_code == 302
