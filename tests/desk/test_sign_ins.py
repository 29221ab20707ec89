"""Sign-ins at the desk: the owner lets people in by role and ends it, and never locks the workshop out of itself."""

import re

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from orders.models import AuditRecord, Mail
from tests.orders.shop import Shop
from tests.portal.pages import Fields

ADA = {"name": "Ada Finch", "email": "Ada@example.org", "roles": ["bench"]}


def post(client: Client, door: str, /, *args: object, **typed: object):
    return client.post(reverse(f"desk:{door}", args=args), typed)


def test_whoever_is_let_in_signs_in_by_a_mailed_code_and_opens_their_pages(owner: Client, shop: Shop) -> None:
    assert post(owner, "sign-in-add", **ADA).status_code == 302
    ada = Client()
    ada.post("/account/login/code/", {"email": "ada@example.org"})
    code = re.search(r"^\s*([A-Z0-9-]{6,9})\s*$", Mail.objects.get(kind="sign-in").body, re.M)
    assert code is not None
    assert ada.post("/account/login/code/confirm/", {"code": code[1]}).headers["Location"] == "/desk/bench/"
    assert ada.get("/desk/bench/").status_code == 200
    assert ada.get("/desk/books/").status_code == 403
    assert AuditRecord.objects.get(verb="let in").detail == {"roles": ["bench"]}


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"name": " "}, "name"),
        ({"email": "ada"}, "email"),
        ({"email": "BENCH@example.org"}, "email"),
        ({"roles": []}, "roles"),
        ({"roles": ["emperor"]}, "roles"),
    ],
)
def test_an_odd_sign_in_is_told_at_its_field_and_nobody_is_let_in(
    owner: Client, shop: Shop, typed, field
) -> None:
    before = User.objects.count()
    response = post(owner, "sign-in-add", **{**ADA, **typed})
    assert (response.status_code, set(response.context["new"].errors)) == (422, {field})
    assert Fields(response.content.decode()).values["name"] == {**ADA, **typed}["name"]
    assert User.objects.count() == before


def test_roles_change_and_a_sign_in_ends_at_once(owner: Client, bench: Client, shop: Shop) -> None:
    wes = User.objects.get(username="bench")
    post(owner, "sign-in-roles", wes.pk, roles=["bookkeeper"])
    assert bench.get("/desk/books/").status_code == 200
    post(owner, "sign-in-end", wes.pk)
    assert bench.get("/desk/books/").status_code == 302
    post(owner, "sign-in-end", wes.pk)
    assert User.objects.get(pk=wes.pk).is_active


def test_the_last_owner_stays(owner: Client, shop: Shop) -> None:
    me = User.objects.get(username="owner")
    assert "let another one in first" in post(owner, "sign-in-roles", me.pk, roles=["bench"]).content.decode()
    post(owner, "sign-in-end", me.pk)
    assert owner.get("/desk/").status_code == 200
    post(owner, "sign-in-add", **{**ADA, "roles": ["owner"]})
    assert post(owner, "sign-in-roles", me.pk, roles=["bench"]).status_code == 302
    assert owner.get("/desk/").status_code == 403


def test_a_customer_is_no_sign_in_of_the_workshop(owner: Client, alice: Client, shop: Shop) -> None:
    customer = User.objects.get(username="alice")
    assert post(owner, "sign-in-end", customer.pk).status_code == 404
