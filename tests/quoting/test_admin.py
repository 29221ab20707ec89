"""The owner extends the catalogue in the admin; what only services may write is seen and not edited."""

import json

import pytest
from django.contrib.auth.models import User
from django.urls import reverse

from quoting.models import EnteredBy, Timber
from quoting.services.catalogue import catalogue
from quoting.services.catalogue_load import load_catalogue
from tests.quoting.books import FOLDER, set_up_shop


@pytest.fixture
def owner(client, db):
    load_catalogue(FOLDER)
    set_up_shop()
    client.force_login(User.objects.create_superuser("staff", "staff@shop.example", "long enough"))
    return client


def post(owner, values):
    return owner.post(
        reverse("admin:quoting_timber_add"),
        {"code": "pear", "name": "Pear", "order": 5, "offered": "on", "values": json.dumps(values)},
    )


def test_a_timber_of_the_owners_is_offered_at_once(owner):
    values = Timber.objects.get(code="yellow-birch").values
    assert post(owner, values).status_code == 302
    assert Timber.objects.get(code="pear").entered_by == EnteredBy.OWNER
    assert "pear" in catalogue().timbers


def test_a_wrong_figure_is_told_at_the_field_and_kept_as_typed(owner):
    values = Timber.objects.get(code="yellow-birch").values | {"workability": {"value": -1}}
    page = post(owner, values)
    assert page.status_code == 200
    assert "field workability" in page.content.decode()
    assert "modulus_of_rupture" in page.content.decode()
    assert not Timber.objects.filter(code="pear").exists()


def test_a_zone_that_could_not_be_used_is_refused(owner):
    zone = {"code": "z", "name": "Z", "order": 1, "days": 2, "countries": '["Germany"]'}
    page = owner.post(reverse("admin:quoting_freightzone_add"), zone)
    assert "Give a list such as" in page.content.decode()


@pytest.mark.parametrize("name", ["pricebookversion", "quote", "planoutlook", "taxrate"])
def test_books_quotes_outlooks_and_rates_are_only_read(owner, name):
    assert owner.get(reverse(f"admin:quoting_{name}_changelist")).status_code == 200
    assert owner.get(reverse(f"admin:quoting_{name}_add")).status_code == 403


@pytest.mark.parametrize(
    "name", ["engine", "airframe", "hubpattern", "glue", "finish", "edgeguard", "tipform"]
)
def test_every_kind_can_be_looked_at(owner, name):
    assert owner.get(reverse(f"admin:quoting_{name}_changelist")).status_code == 200
