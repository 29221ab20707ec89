"""The bookkeeper's doors: each refuses at its field with nothing typed lost, and books once what is right."""

from datetime import date

import pytest
from django.utils import timezone

from orders.models import AuditRecord, Document, JournalEntry, Mail, Order, OutboxJob, Payment, Period
from orders.services import chart, payment, postings
from orders.services.owed import back_of
from orders.services.verify import faults
from orders.who import THE_SERVICE
from orders.worker import JOBS
from tests.orders.shop import Shop
from tests.portal.pages import Fields


def today() -> str:
    """Money is recorded on days that have come; the shop's own clock may be ahead of them."""
    return timezone.localdate().isoformat()


def post(client, path: str, **typed: object):
    return client.post(f"/desk/{path}/", typed)


def refused_at(response, field: str, **typed: str) -> None:
    """The page came back with this one field marked and everything typed still there."""
    html = response.content.decode()
    assert (response.status_code, Fields(html).invalid) == (422, {field})
    for name, value in typed.items():
        input_, area = f'name="{name}" value="{value}"', f">\n{value}</textarea>"
        assert not value or input_ in html or area in html, name


def cancelled(owner, shop: Shop) -> Order:
    order = shop.queued()
    assert post(owner, f"orders/{order.number}/cancel", reason="Sold", retained="0").status_code == 302
    order.refresh_from_db()
    return order


@pytest.mark.parametrize(
    ("field", "odd"),
    [
        ("amount", "0"),
        ("amount", "999999"),
        ("amount", "NaN"),
        ("paid_on", "2099-01-01"),
        ("paid_on", "soon"),
        ("bank_reference", ""),
        ("bank_reference", "x" * 121),
    ],
)
def test_an_odd_pay_back_is_refused_at_its_field_and_keeps_what_was_typed(owner, shop: Shop, field, odd):
    order = cancelled(owner, shop)
    typed = {"amount": "10.00", "paid_on": today(), "bank_reference": "R-1"} | {field: odd}
    refused_at(post(owner, f"orders/{order.number}/pay-back/bank", **typed), field, **typed)
    assert not Payment.objects.filter(kind="refund").exists()


def test_what_is_owed_stands_on_the_orders_page_until_it_is_paid_back(owner, bookkeeper, bench, shop: Shop):
    order = cancelled(owner, shop)
    path = f"/desk/orders/{order.number}/"
    assert "Still to be paid back" in bookkeeper.get(path).content.decode()
    assert "Still to be paid back" not in bench.get(path).content.decode()
    assert order.number in bookkeeper.get("/desk/books/money/").content.decode()
    typed = {"paid_on": today(), "bank_reference": "R-1"}
    owed = bookkeeper.get(path).context["pay_back_bank"]["amount"].initial
    assert post(bookkeeper, f"orders/{order.number}/pay-back/bank", amount=owed, **typed).status_code == 302
    assert "Still to be paid back" not in bookkeeper.get(path).content.decode()
    assert postings.balance(chart.OWED) == postings.balance(chart.BANK) == 0
    refused = post(bookkeeper, f"orders/{order.number}/pay-back/bank", amount="1", **typed)
    assert refused.status_code == 422 and "Nothing is owed back" in refused.content.decode()


def test_nothing_goes_back_to_a_card_that_paid_nothing(owner, shop: Shop):
    order = cancelled(owner, shop)
    response = post(owner, f"orders/{order.number}/pay-back/card", amount="1.00")
    assert response.status_code == 422 and "Nothing can go back by card" in response.content.decode()


@pytest.mark.parametrize(
    ("field", "odd"), [("net", "99999"), ("net", "0"), ("reason", ""), ("paid_on", "2099-01-01")]
)
def test_an_odd_refund_is_refused_at_its_field(bookkeeper, shop: Shop, field, odd):
    order = shop.dispatched()
    typed = {
        "net": "10.00", "reason": "Scratch", "paid_on": today(), "bank_reference": "R-1"
    } | {field: odd}  # fmt: skip
    refused_at(post(bookkeeper, f"orders/{order.number}/refund/bank", **typed), field, **typed)
    assert not Payment.objects.filter(kind="refund").exists()


def test_a_refund_takes_its_tax_with_it_and_is_told(bookkeeper, shop: Shop):
    order = shop.dispatched()
    typed = {"net": "10.00", "reason": "Scratch", "paid_on": today(), "bank_reference": "R-1"}
    assert post(bookkeeper, f"orders/{order.number}/refund/bank", **typed).status_code == 302
    assert Payment.objects.get(kind="refund").amount == -1190
    assert Mail.objects.filter(kind="money-back").count() == 1


@pytest.mark.parametrize(
    ("field", "odd"),
    [("net", "0"), ("net", ""), ("tax", "99"), ("paid_on", "2099-01-01"), ("reference", " ")],
)
def test_an_odd_carriers_bill_is_refused_at_its_field(bookkeeper, shop: Shop, field, odd):
    order = shop.dispatched()
    typed = {"net": "88.00", "tax": "16.72", "paid_on": today(), "reference": "F-1"}
    typed |= {field: odd}
    refused_at(post(bookkeeper, f"orders/{order.number}/carriage", **typed), field)
    assert postings.balance(chart.CARRIAGE) == 0


def test_a_carriers_bill_is_booked_once_noted_on_the_order_and_may_be_reversed(bookkeeper, shop: Shop):
    order = shop.dispatched()
    tax = postings.standing(order).tax
    typed = {"net": "88.00", "tax": "16.72", "paid_on": today(), "reference": "F-1"}
    assert post(bookkeeper, f"orders/{order.number}/carriage", **typed).status_code == 302
    refused_at(post(bookkeeper, f"orders/{order.number}/carriage", **typed), "reference", **typed)
    order.refresh_from_db()
    assert (postings.balance(chart.CARRIAGE), order.freight_cost) == (8_800, 8_800)
    assert (postings.standing(order).tax, back_of(order).net) == (tax, order.net)
    entry = JournalEntry.objects.get(source="carriage F-1")
    refused_at(post(bookkeeper, f"books/entries/{entry.number}/reverse", reason=" "), "reason")
    assert post(bookkeeper, f"books/entries/{entry.number}/reverse", reason="Not ours").status_code == 302
    order.refresh_from_db()
    assert (postings.balance(chart.CARRIAGE), order.freight_cost) == (0, None)
    again = post(bookkeeper, f"books/entries/{entry.number}/reverse", reason="Twice")
    assert again.status_code == 422 and "reversed already" in again.content.decode()
    assert post(bookkeeper, f"orders/{order.number}/carriage", **typed).status_code == 302
    assert postings.balance(chart.CARRIAGE) == 8_800


def test_a_transfer_typed_wrong_is_taken_back_and_typed_again_under_its_reference(bookkeeper, shop: Shop):
    order = shop.order()
    asked = order.payment_requests.get()
    typed = {
        "request": asked.reference, "amount": "7.98", "received_on": today(),
        "bank_reference": "B-1",
    }  # fmt: skip
    assert post(bookkeeper, f"orders/{order.number}/transfer", **typed).status_code == 302
    entry = JournalEntry.objects.get(source="payment bank B-1")
    assert post(bookkeeper, f"books/entries/{entry.number}/reverse", reason="798 meant").status_code == 302
    assert (asked.paid, postings.balance(chart.BANK)) == (0, 0)
    typed["amount"] = "798.00"
    assert post(bookkeeper, f"orders/{order.number}/transfer", **typed).status_code == 302
    assert (asked.paid, postings.balance(chart.BANK)) == (79_800, 79_800)
    assert list(faults()) == []


def test_what_follows_from_an_order_is_not_reversed_and_says_what_mends_it(bookkeeper, shop: Shop):
    order = shop.dispatched()
    for entry in JournalEntry.objects.all():
        page = bookkeeper.get(f"/desk/books/entries/{entry.number}/").content.decode()
        assert 'name="reason"' not in page, entry.source
    delivery = JournalEntry.objects.get(source=f"delivery {order.number}")
    response = post(bookkeeper, f"books/entries/{delivery.number}/reverse", reason="x")
    assert response.status_code == 422 and "credit note" in response.content.decode()


@pytest.mark.parametrize("door", ["payout", "tax"])
@pytest.mark.parametrize(
    ("field", "odd"),
    [
        ("amount", "99999"),
        ("amount", "0"),
        ("amount", "\u0661"),
        ("reference", ""),
        ("paid_on", "2099-01-01"),
    ],
)
def test_an_odd_payout_or_tax_payment_is_refused_at_its_field(bookkeeper, shop: Shop, door, field, odd):
    typed = {"amount": "5.00", "paid_on": today(), "reference": "P-1"}
    shop.dispatched()
    if door == "payout":
        by_card(shop, 10_000)
    typed |= {field: odd}
    refused_at(post(bookkeeper, f"books/money/{door}", **typed), field)
    assert not JournalEntry.objects.filter(source__startswith=f"{door} ").exists()


def by_card(shop: Shop, amount: int) -> None:
    """Card money with the provider, booked as the worker would."""

    payment.take(
        THE_SERVICE, shop.order().payment_requests.get(), amount, "EUR", provider="stripe",
        fact="pi_1:receipt", received_on=shop.today, today=shop.today, now=shop.now,
    )  # fmt: skip


def test_a_payout_is_booked_with_its_fee_on_its_day_and_no_more_than_is_there(bookkeeper, shop: Shop):
    by_card(shop, 10_000)
    typed = {"amount": "97.00", "fee": "3.01", "paid_on": today(), "reference": "po_1"}
    refused_at(post(bookkeeper, "books/money/payout", **typed), "amount", **typed)
    assert post(bookkeeper, "books/money/payout", **(typed | {"fee": "3.00"})).status_code == 302
    assert (postings.balance(chart.CLEARING), postings.balance(chart.BANK)) == (0, 9_700)
    assert JournalEntry.objects.get(source="payout po_1").posting_date == timezone.localdate()
    assert AuditRecord.objects.filter(verb="book").count() == 1


def test_tax_is_remitted_up_to_what_is_payable(bookkeeper, shop: Shop):
    order = shop.dispatched()
    payable = f"{order.tax / 100:.2f}"
    typed = {"amount": payable, "paid_on": today(), "reference": "September"}
    assert post(bookkeeper, "books/money/tax", **typed).status_code == 302
    assert postings.balance(chart.TAX) == 0
    refused_at(
        post(bookkeeper, "books/money/tax", **(typed | {"reference": "x", "amount": "0.01"})), "amount"
    )


def test_months_are_closed_in_turn_and_opened_again_with_a_reason(bookkeeper, shop: Shop):
    for month in (7, 8):
        Period.objects.create(first_day=date(2026, month, 1), changed_at=shop.now, changed_by="x")
    refused_at(post(bookkeeper, "books/months/close", month="2026-08-01"), "month")
    for month in ("2026-07-01", "2026-08-01"):
        assert post(bookkeeper, "books/months/close", month=month).status_code == 302
    refused_at(post(bookkeeper, "books/months/close", month="2026-08-01"), "month")
    assert set(Period.objects.values_list("state", flat=True)) == {"closed"}
    refused_at(post(bookkeeper, "books/months/open", month="2026-08-01", reason=""), "reason")
    opened = post(bookkeeper, "books/months/open", month="2026-08-01", reason="A late bill")
    assert opened.status_code == 302
    assert AuditRecord.objects.filter(verb="turn", reason="A late bill").count() == 1


def test_the_month_that_runs_is_not_closed_and_nothing_is_booked_in_a_closed_one(
    bookkeeper, owner, shop: Shop
):
    order = cancelled(owner, shop)
    running = Period.objects.order_by("-first_day").first()
    refused_at(post(bookkeeper, "books/months/close", month=running.first_day.isoformat()), "month")
    Period.objects.update(state="closed")
    typed = {"amount": "10.00", "paid_on": today(), "bank_reference": "R-1"}
    refused_at(post(bookkeeper, f"orders/{order.number}/pay-back/bank", **typed), "paid_on", **typed)
    typed["paid_on"] = "2026-05-05"
    refused_at(post(bookkeeper, f"orders/{order.number}/pay-back/bank", **typed), "paid_on", **typed)


def test_a_credit_note_is_issued_from_the_invoices_page_with_its_paper(bookkeeper, shop: Shop):
    order = shop.dispatched()
    bill = order.invoices.get()
    line = bill.lines[0]["key"]
    path = f"books/invoices/{bill.number}"
    refused_at(post(bookkeeper, f"{path}/credit", reason="Not made"), "lines", reason="Not made")
    refused_at(post(bookkeeper, f"{path}/credit", lines=[line], reason=""), "reason")
    refused_at(post(bookkeeper, f"{path}/credit", lines=["x"], reason="y"), "lines")
    assert post(bookkeeper, f"{path}/credit", lines=[line], reason="Not made").status_code == 302
    note = order.invoices.get(type_code="381")
    assert (note.net, back_of(order).owed) == (bill.lines[0]["net"], note.gross)
    page = bookkeeper.get(f"/desk/{path}/").content.decode()
    assert note.number in page and f'value="{line}"' not in page
    job = OutboxJob.objects.filter(kind="make-paper", payload__invoice=note.pk).get()
    JOBS["make-paper"](job.payload)
    paper = Document.objects.get(invoice=note)
    note_page = bookkeeper.get(f"/desk/books/invoices/{note.number}/").content.decode()
    assert f"/desk/orders/{order.number}/papers/{paper.pk}/" in note_page
    assert bookkeeper.get(f"/desk/orders/{order.number}/papers/{paper.pk}/").status_code == 200
    assert list(faults()) == []


def test_numbers_that_lead_nowhere_are_not_found(bookkeeper, shop: Shop):
    for path in ("books/entries/999/", "books/invoices/I-0/"):
        assert bookkeeper.get(f"/desk/{path}").status_code == 404
