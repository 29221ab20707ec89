"""The tables behind the pages: the owner looks at all of them, changes the catalogue, and signs in by the one door."""

import pytest
from django.contrib import admin
from django.contrib.auth.models import User
from django.test import Client, RequestFactory
from django.urls import reverse

from orders.services import opening
from tests.orders.shop import Shop
from tests.portal.conftest import signed_in


@pytest.fixture
def opener(shop: Shop) -> Client:
    """Somebody with the owner's role as a workshop is opened with it."""
    return signed_in(opening.add_sign_in("Ada Finch", "ada@example.org", ["owner"], None))


def test_no_table_with_rules_can_be_edited_past_them_even_by_a_superuser(shop: Shop) -> None:
    request = RequestFactory().get("/admin/")
    request.user = User.objects.create_superuser("root", "root@example.org", "long enough")
    open_tables = {
        model._meta.label_lower
        for model, table in admin.site._registry.items()
        if table.has_add_permission(request)
        or table.has_change_permission(request)
        or table.has_delete_permission(request)
    }
    catalogue = ("timber", "engine", "airframe", "hubpattern", "glue", "finish", "edgeguard", "tipform")
    assert open_tables == {
        *(f"quoting.{name}" for name in catalogue),
        "quoting.freightzone",
    }


def test_the_owner_s_role_opens_the_tables_and_extends_the_catalogue(opener: Client) -> None:
    assert "Timber lots" in opener.get("/admin/").content.decode()
    assert opener.get(reverse("admin:orders_machine_changelist")).status_code == 200
    assert opener.get(reverse("admin:orders_machine_add")).status_code == 403
    assert opener.get(reverse("admin:quoting_timber_add")).status_code == 200


def test_whoever_only_works_at_the_bench_sees_no_table(bench: Client) -> None:
    User.objects.filter(username="bench").update(is_staff=True)
    assert bench.get(reverse("admin:orders_machine_changelist")).status_code == 403


def test_the_tables_are_reached_by_the_same_sign_in_as_everything_else(anyone: Client) -> None:
    typed = {"username": "owner", "password": "guess"}
    for path in ("/admin/", "/admin/login/"):
        page = anyone.get(path, follow=True)
        assert page.request["PATH_INFO"] == reverse("account_login")
    assert anyone.post("/admin/login/", typed).headers["Location"].startswith(reverse("account_login"))


def test_a_superuser_opens_the_desk_as_the_owner(shop: Shop) -> None:
    root = signed_in(User.objects.create_superuser("root", "root@example.org", "long enough"))
    assert root.get(reverse("desk:morning")).status_code == 200
