"""Who may open which page of the desk: one row for every address, and none may lack its row."""

from dataclasses import dataclass

import pytest
from django.core.files.base import ContentFile
from django.test import Client
from django.urls import reverse

from orders.desk.urls import urlpatterns
from orders.models import Document, OutboxJob, Stage, StageRecord
from orders.services import bench as bench_service
from quoting.models import PriceBookVersion, TaxRate
from tests.desk.books_doors import BOOKS, issued
from tests.desk.plan_doors import DOORS as PLAN_DOORS
from tests.desk.plan_doors import places_of
from tests.orders.shop import Shop

EVERY_ROLE = ("owner", "bench", "bookkeeper")


@dataclass(frozen=True)
class Door:
    """One address: the parts of its path by the name they have in `places`, who besides the owner, how it is asked."""

    name: str
    parts: tuple[str, ...] = ()
    others: tuple[str, ...] = ()
    post: bool = False


DOORS = (
    Door("morning"),
    Door("mail-again", post=True),
    Door("job-again", ("job",), post=True),
    Door("enquiries"),
    Door("review", ("enquiry",)),
    Door("keep-typed", ("enquiry",), post=True),
    Door("change-line", ("enquiry",), post=True),
    Door("add-line", ("enquiry",), post=True),
    Door("change-terms", ("enquiry",), post=True),
    Door("undo", ("enquiry",), post=True),
    Door("rush-cost", ("enquiry",), post=True),
    Door("review-date", ("enquiry",)),
    Door("exact-date", ("enquiry",), post=True),
    Door("write", ("enquiry",), post=True),
    Door("compare", ("revised",)),
    Door("override", ("enquiry",), post=True),
    Door("send", ("enquiry",), post=True),
    Door("ask-back", ("enquiry",), post=True),
    Door("decline", ("enquiry",), post=True),
    Door("orders", (), ("bookkeeper",)),
    Door("order", ("order",), ("bench", "bookkeeper")),
    Door("transfer", ("order",), ("bookkeeper",), post=True),
    Door("ask-again", ("order", "drawing"), post=True),
    Door("invoice", ("order",), post=True),
    Door("dispatch", ("order",), post=True),
    Door("charge-change", ("order",), post=True),
    Door("charge-storage", ("order",), ("bookkeeper",), post=True),
    Door("freight", ("order",), ("bookkeeper",), post=True),
    Door("answer", ("order",), post=True),
    Door("hold", ("order",), post=True),
    Door("resume", ("order",), post=True),
    Door("release", ("order", "one"), ("bench",)),
    Door("paper", ("order", "paper"), ("bench", "bookkeeper")),
    Door("bench", (), ("bench",)),
    Door("stage", ("stage",), ("bench",)),
    Door("start", ("stage",), ("bench",), post=True),
    Door("record", ("stage",), ("bench",), post=True),
    Door("stage-again", ("stage",), ("bench",), post=True),
    Door("stage-leave-out", ("stage",), post=True),
    Door("photo", ("photographed", "record"), ("bench", "bookkeeper")),
    *(Door(*row) for row in PLAN_DOORS),
    Door("register", (), ("bench", "bookkeeper")),
    Door("propeller", ("serial",), ("bench", "bookkeeper")),
    Door("retire", ("serial",), post=True),
    *(Door(name, parts, ("bookkeeper",), post) for name, parts, post in BOOKS),
    Door("price-books"),
    Door("price-book-draft", post=True),
    Door("price-book", ("book",)),
    Door("price-book-change", ("book",), post=True),
    Door("price-book-try", ("book",), post=True),
    Door("price-book-add", ("book",), post=True),
    Door("price-book-take-out", ("book",), post=True),
    Door("price-book-reprice", ("book",), post=True),
    Door("price-book-repricing", ("book",)),
    Door("taxes", (), ("bookkeeper",)),
    Door("tax-add", post=True),
    Door("tax-end", ("rate",), post=True),
    Door("learning"),
    Door("learning-draft", post=True),
    Door("price-book-in-force", ("book",), post=True),
    Door("draw", ("order",), ("bench",), post=True),
    Door("balance", ("stage",), ("bench",)),
    Door("cancel", ("order",), post=True),
)


@pytest.fixture
def places(shop: Shop) -> dict[str, object]:
    """One of everything a path can name."""
    order = shop.queued()
    propeller = order.propellers.get()
    paper = Document.objects.create(
        kind="drawing", quote=order.quote, subject="Q", sha256="0" * 64, made_at=shop.now
    )
    paper.file.save("paper.pdf", ContentFile(b"%PDF-1.7"))
    record = photographed(shop, propeller.stages.get(key="condition"))
    return {
        "enquiry": shop.enquiry().number,
        "revised": shop.revised().number,
        "order": order.number,
        "drawing": "drawing",
        "one": 1,
        "paper": paper.pk,
        "stage": propeller.stages.first().pk,
        "photographed": record.stage_id,
        "record": record.pk,
        "job": OutboxJob.objects.create(kind="replan", state="dead", due_at=shop.now, created_at=shop.now).pk,
        "serial": propeller.serial,
        "rate": TaxRate.objects.first().pk,
        "book": PriceBookVersion.objects.get().pk,
        "entry": 1,
        "bill": issued(shop).number,
        **places_of(shop),
    }


def photographed(shop: Shop, stage: Stage) -> StageRecord:
    """A record with a photograph."""
    return bench_service.record_stage(
        shop.at_bench,
        stage,
        shop.wes,
        minutes=5,
        measurements={},
        photo=b"\xff\xd8",
        finished=False,
        now=shop.now,
    ).record


def knock(client: Client, door: Door, places: dict[str, object]):
    path = reverse(f"desk:{door.name}", args=[places[part] for part in door.parts])
    return client.post(path) if door.post else client.get(path)


def test_every_address_of_the_desk_has_its_row():
    assert sorted(door.name for door in DOORS) == sorted(pattern.name for pattern in urlpatterns)


def test_whoever_is_not_signed_in_is_asked_to(anyone, places):
    for door in DOORS:
        response = knock(anyone, door, places)
        assert response.status_code == 302, door.name
        assert response.headers["Location"].startswith("/account/login/"), door.name


def test_a_customer_is_refused_everywhere_even_on_an_order_of_their_own(alice, charlie, places):
    for door in DOORS:
        assert knock(alice, door, places).status_code == 403, door.name
        assert knock(charlie, door, places).status_code == 403, door.name


@pytest.mark.parametrize("role", EVERY_ROLE)
def test_each_role_opens_its_own_pages_and_no_other(role, places, request):
    client = request.getfixturevalue(role)
    for door in DOORS:
        response = knock(client, door, places)
        if role == "owner" or role in door.others:
            assert response.status_code in (200, 302, 422), (door.name, response.status_code)
            assert "/account/login/" not in response.headers.get("Location", ""), door.name
        else:
            assert response.status_code == 403, door.name


def test_what_changes_something_cannot_be_asked_for_by_a_mere_link(owner, places):
    for door in DOORS:
        if door.post:
            path = reverse(f"desk:{door.name}", args=[places[part] for part in door.parts])
            assert owner.get(path).status_code == 405, door.name
