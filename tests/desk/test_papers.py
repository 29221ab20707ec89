"""Papers at the desk and at the customer's door: under their own order only, and for the bench none that carries a price."""

import pytest
from django.core.files.base import ContentFile

from orders.models import Document, Order, OutboxJob
from orders.services import papers_of_build, redoing
from orders.services.documents import papers_for, subject_of
from orders.services.drawings import VARIANTS
from orders.who import by_link
from tests.orders.shop import Shop

SALE = ("quote", "invoice")
BUILD = ("build-card", "drawing", "drill-template", "station-dxf", "solid", "build-record", "care-sheet")


def papers(order: Order, mark: str = "") -> dict[str, Document]:
    """One paper of every kind, of the order or of its quote."""
    found = {}
    for kind in (*SALE, *BUILD):
        of = {"quote": order.quote} if kind in {"quote", *VARIANTS} else {"order": order}
        row = Document(
            kind=kind, subject=f"{order.number} {mark}", sha256="0" * 64, made_at=order.accepted_at, **of
        )
        row.file.save(row.file_name, ContentFile(b"%PDF-1.7"))
        found[kind] = row
    return found


def path(order: Order, paper: Document) -> str:
    return f"/desk/orders/{order.number}/papers/{paper.pk}/"


def test_the_bench_opens_what_it_builds_by_and_nothing_of_the_sale(bench, shop: Shop):
    order = shop.queued()
    made = papers(order)
    page = bench.get(f"/desk/orders/{order.number}/").content.decode()
    for kind, paper in made.items():
        for_bench = kind in BUILD
        assert bench.get(path(order, paper)).status_code == (200 if for_bench else 404), kind
        assert (f"papers/{paper.pk}/" in page) == for_bench, kind


def test_the_bench_sees_no_money_on_an_orders_page_and_the_bookkeeper_does(bench, bookkeeper, shop: Shop):
    address = f"/desk/orders/{shop.queued().number}/"
    request = Order.objects.get().payment_requests.get()
    assert request.reference not in bench.get(address).content.decode()
    assert request.reference in bookkeeper.get(address).content.decode()


def test_owner_and_bookkeeper_open_quote_and_invoice(owner, bookkeeper, shop: Shop):
    order = shop.queued()
    made = papers(order)
    for client in (owner, bookkeeper):
        assert [client.get(path(order, made[kind])).status_code for kind in SALE] == [200, 200]


@pytest.mark.parametrize("kind", [*SALE, *BUILD])
def test_a_paper_of_another_order_is_not_there(owner, bench, bookkeeper, anyone, shop: Shop, kind):
    order, other = shop.build_queued(), shop.build_queued()
    strange = papers(other)[kind]
    for client in (owner, bench, bookkeeper):
        assert client.get(path(order, strange)).status_code == 404
    assert anyone.get(f"/order/{order.token}/paper/{strange.pk}/").status_code == 404


def test_a_customer_has_the_papers_of_the_sale_and_none_of_the_bench(anyone, shop: Shop):
    order = shop.queued()
    got = {
        kind
        for kind, paper in papers(order).items()
        if anyone.get(f"/order/{order.token}/paper/{paper.pk}/").status_code == 200
    }
    assert got == {"quote", "invoice", "drawing", "build-record", "care-sheet"}


def test_who_has_no_role_has_no_paper(shop: Shop):
    order = shop.queued()
    papers(order)
    assert not papers_for(by_link("Somebody"), order).exists()


def test_a_crated_propeller_gets_its_packing_list_with_the_mass_that_was_weighed(shop: Shop):
    order = shop.ready()
    propeller = order.propellers.get()
    wanted = OutboxJob.objects.filter(kind="make-paper", payload__kind="packing-list")
    assert not wanted.exists()
    shop.do(propeller.stages.get(key="crate"))
    assert wanted.get().payload["propeller"] == propeller.pk
    sheet = papers_of_build.packing_list(propeller)
    assert [row["label"] for row in sheet["crate"]] == ["Crate", "Propeller"]
    assert sheet["crate"][1]["value"] == "5 kg, weighed"
    assert sheet["date"] == shop.now.date().isoformat()


def test_a_propeller_inspected_and_crated_again_gets_another_packing_list(shop: Shop):
    order = shop.ready()
    before = subject_of("packing-list", order.propellers.get())
    redoing.do_again(
        shop.at_bench,
        order.propellers.get().stages.get(key="inspect"),
        reason="Weighed wrongly",
        now=shop.now,
    )
    shop.release(order.propellers.get())
    assert subject_of("packing-list", order.propellers.get()) != before
