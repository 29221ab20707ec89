"""The desk's money: transfers typed in, the books' balances, the journal as a file, and the register beside it."""

import csv
import io
import re
from datetime import timedelta

import pytest

from orders.models import JournalLine, Order, Payment
from tests.orders.shop import Shop
from tests.portal.pages import Fields


def book(client, shop: Shop, order: Order, **changes: str):
    asked = order.payment_requests.get(kind="deposit")
    form = {
        "request": asked.reference,
        "amount": "100.00",
        "received_on": shop.today.isoformat(),
        "bank_reference": "B-77",
    }
    return client.post(f"/desk/orders/{order.number}/transfer/", form | changes)


def test_a_transfer_is_booked_once_and_the_second_time_is_refused_at_its_reference(bookkeeper, shop: Shop):
    order = shop.order()
    assert book(bookkeeper, shop, order).status_code == 302
    again = book(bookkeeper, shop, order, amount="55.00")
    fields = Fields(again.content.decode())
    assert (again.status_code, fields.invalid) == (422, {"bank_reference"})
    assert (fields.values["amount"], Payment.objects.get().amount) == ("55.00", 10_000)


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "0",
        "-5",
        "1e9",
        "NaN",
        "99999999999",
        "1.234",
        "1,234",
        "\u0661\u0660\u0660",
        "\N{AIRPLANE}",
        "x" * 50,
    ],
)
def test_an_odd_amount_is_refused_at_the_amount_and_books_nothing(bookkeeper, shop: Shop, typed):
    response = book(bookkeeper, shop, shop.order(), amount=typed)
    fields = Fields(response.content.decode())
    assert (response.status_code, fields.invalid) == (422, {"amount"})
    assert (fields.values["amount"], fields.values["bank_reference"]) == (typed, "B-77")
    assert not Payment.objects.exists() and not JournalLine.objects.exists()


@pytest.mark.parametrize("typed", ["", "soon", "1901-01-01", "9999-12-31", "\u0662\u0660\u0662\u0666-01-01"])
def test_an_odd_day_is_refused_at_the_day(bookkeeper, shop: Shop, typed):
    response = book(bookkeeper, shop, shop.order(), received_on=typed)
    assert (response.status_code, Fields(response.content.decode()).invalid) == (422, {"received_on"})
    assert not Payment.objects.exists()


def test_tomorrow_is_refused_and_so_are_no_reference_and_another_orders_request(bookkeeper, shop: Shop):
    order, other = shop.order(), shop.order()
    tomorrow = (shop.today + timedelta(days=1)).isoformat()
    theirs = other.payment_requests.get(kind="deposit").reference
    for field, typed in (("received_on", tomorrow), ("bank_reference", " "), ("request", theirs)):
        assert book(bookkeeper, shop, order, **{field: typed}).status_code == 422, field
    assert not Payment.objects.exists()


def test_the_books_balance_and_show_what_was_posted(bookkeeper, shop: Shop):
    shop.dispatched()
    response = bookkeeper.get("/desk/books/")
    [(currency, debit, credit)] = response.context["sums"]
    assert (currency, debit) == ("EUR", credit) and debit > 0
    assert "The books balance" in response.content.decode()
    assert bookkeeper.get("/desk/books/?period=never&page=%F0%9F%9B%A9").status_code == 200


def test_the_journal_comes_as_a_file_with_every_line_and_both_sides_alike(bookkeeper, shop: Shop):
    shop.dispatched()
    response = bookkeeper.get("/desk/books/journal.csv")
    assert response.headers["Content-Type"].startswith("text/csv")
    assert 'filename="journal.csv"' in response.headers["Content-Disposition"]
    rows = list(csv.DictReader(io.StringIO(response.content.decode())))
    assert len(rows) == JournalLine.objects.filter(entry__posted=True).count() > 0
    cents = {side: round(sum(float(row[side] or 0) for row in rows) * 100) for side in ("debit", "credit")}
    assert cents["debit"] == cents["credit"] > 0
    assert bookkeeper.get("/desk/books/journal.csv").content == response.content


def test_invoices_and_payments_are_listed(bookkeeper, shop: Shop):
    order = shop.dispatched()
    page = bookkeeper.get("/desk/books/invoices/").content.decode()
    assert order.invoices.get().number in page
    assert all(payment.reference in page for payment in order.payments.all())


def test_the_register_finds_by_serial_order_customer_and_size_and_says_when_nothing_matches(
    bench, shop: Shop
):
    order = shop.ready()
    serial = order.propellers.get().serial
    for words in (serial, order.number, "wren", order.title[:8]):
        assert serial in bench.get("/desk/register/", {"find": words}).content.decode(), words
    nothing = bench.get("/desk/register/", {"find": "<b>\N{AIRPLANE}"}).content.decode()
    assert serial not in nothing and "&lt;b&gt;\N{AIRPLANE}" in nothing


def test_a_build_record_shows_who_measured_what(bench, shop: Shop):
    propeller = shop.ready().propellers.get()
    page = bench.get(f"/desk/register/{propeller.serial}/").content.decode()
    for words in ("Wes", "moisture", "bore", "bolt circle"):
        assert words in page.lower() or words in page
    assert "bolt_circle" not in page
    assert bench.get("/desk/register/999999/").status_code == 404


def test_every_payment_can_be_reached_page_by_page(bookkeeper, shop: Shop, monkeypatch):
    monkeypatch.setattr("orders.desk.books.SHOWN", 1)
    order = shop.dispatched()
    seen, address = [], "/desk/books/invoices/"
    while address:
        page = bookkeeper.get(address)
        [payment] = page.context["payments"].object_list
        seen.append(payment.pk)
        older = re.search(r'href="(\?payments=\d+)">Older', page.content.decode())
        address = f"/desk/books/invoices/{older[1]}" if older else ""
    assert sorted(seen) == sorted(order.payments.values_list("pk", flat=True))
    assert len(seen) == 2
