"""The papers a customer is promised are there, or being made, or can be asked for."""

import pytest

from orders import worker
from orders.models import Document, OutboxJob
from orders.services import dispatch, documents, invoice
from orders.services.filing import keep
from tests.orders.shop import MORNING, Shop


def kinds(order) -> list[str]:
    return [paper.kind for paper in documents.outstanding(order)]


def file(order, kind: str, subject: str) -> Document:
    return keep(kind, subject, b"%PDF-", order=order)


def test_an_order_in_the_queue_owes_no_papers(shop: Shop):
    assert kinds(shop.queued()) == []


def test_what_is_dispatched_owes_invoice_record_and_care_sheet_until_they_are_filed(shop: Shop):
    order = shop.dispatched()
    assert sorted(kinds(order)) == ["build-record", "care-sheet", "invoice"]
    propeller = order.propellers.get()
    file(order, "invoice", order.invoices.get().number)
    file(order, "care-sheet", str(propeller.serial))
    file(order, "build-record", documents.subject_of("build-record", propeller))
    assert kinds(order) == []


def test_a_record_of_an_earlier_release_is_not_the_record(shop: Shop):
    order = shop.dispatched()
    file(order, "build-record", f"{order.propellers.get().serial} 2020-01-01 00:00:00")
    assert "build-record" in kinds(order)


def test_dispatch_sees_to_a_record_whose_job_is_lost(shop: Shop):
    order = shop.ready()
    OutboxJob.objects.filter(kind="make-paper").delete()
    shop.do(order.propellers.get().stages.get(key="crate"))
    from_release = OutboxJob.objects.filter(payload__kind="build-record")
    assert not from_release.exists()
    finished(shop, order)
    assert from_release.count() == 1
    assert all(paper.job for paper in documents.outstanding(order))


def finished(shop: Shop, order) -> None:
    invoice.issue_invoice(shop.owner, order, today=shop.today, now=shop.now)
    shop.pay(order, "balance")
    dispatch.dispatch_order(shop.owner, order, carrier="Haulage", today=shop.today, now=shop.now)


def test_asking_again_asks_for_nothing_that_is_being_made(shop: Shop):
    order = shop.dispatched()
    OutboxJob.objects.filter(kind="make-paper").delete()
    assert documents.ask_for_outstanding(order, now=shop.now) == 3
    assert documents.ask_for_outstanding(order, now=shop.now) == 0


@pytest.mark.timeout(400)
def test_what_is_asked_for_is_printed_and_then_owed_no_more(shop: Shop):
    order = shop.dispatched()
    OutboxJob.objects.all().delete()
    documents.ask_for_outstanding(order, now=shop.now)
    OutboxJob.objects.update(due_at=MORNING)
    worker.sweep()
    assert kinds(order) == []
