"""The books: the worked example of a deposit to delivery, EU style, cancellation, periods, reversal, export."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import transaction

from orders.models import Invoice, JournalEntry, JournalLine, Order, PaymentRequest, Period, Workshop
from orders.refusal import Refused
from orders.services import bookings, cancelling, chart, export, invoice, journal, payment, postings, refund
from orders.services.journal import credit, debit
from orders.services.verify import faults, trial_balance
from orders.who import THE_SERVICE
from quoting.pricing.money import Money
from tests.kit.crowd import at_once

LINE = {
    "key": "propeller", "category": "labour", "label": "Propeller", "quantity": "1", "unit": "piece",
    "rate": "1600", "net": 160_000, "tax_code": "T",
}  # fmt: skip


def priced(shop, *, net: int, tax: int, deposit: int) -> Order:
    """An order with these very amounts, as if quoted so."""
    order = shop.order()
    Order.objects.filter(pk=order.pk).update(net=net, tax=tax, gross=net + tax, deposit=deposit)
    PaymentRequest.objects.filter(order=order).update(amount=deposit)
    order.refresh_from_db()
    return order


@transaction.atomic
def deliver(shop, order: Order, percent: str) -> Invoice:
    """Invoice, ask for the balance and hand over, on account."""
    prepaid = sum(order.payments.values_list("amount", flat=True))
    sums = invoice.totals([LINE], {"T": ("Tax", Decimal(percent))}, prepaid=prepaid)
    issued = invoice.issue(shop.owner, order, "380", [LINE], sums, today=shop.today, now=shop.now)
    postings.delivered(shop.owner, order, issued, today=shop.today, now=shop.now)
    Order.objects.filter(pk=order.pk).update(state="dispatched")
    payment.ask_for(order, "balance", issued.due, days=14, today=shop.today, now=shop.now)
    return issued


def take(shop, order: Order, kind: str, fact: str, fee: int = 0, provider: str = "stripe") -> None:
    request = order.payment_requests.get(kind=kind)
    payment.take(
        THE_SERVICE, request, request.amount, order.currency, provider=provider, fact=fact, fee=fee,
        received_on=shop.today, today=shop.today, now=shop.now,
    )  # fmt: skip


def eur(minor: int) -> Money:
    return Money.from_minor(minor, "EUR")


def written() -> list[list[tuple[str, int, int]]]:
    return [
        [(line.account.code, line.debit, line.credit) for line in entry.lines.select_related("account")]
        for entry in JournalEntry.objects.order_by("number")
    ]


def test_deposit_to_delivery_makes_the_entries_of_the_worked_example(shop):
    """After IFRS 15.105-106: 1 600.00, tax 8.25 % at delivery, deposit 40 %, cost 620.00, card fee 2.9 % + 0.30."""
    order = priced(shop, net=160_000, tax=13_200, deposit=64_000)
    take(shop, order, "deposit", "pi_1:receipt", fee=1_886)
    on_day = {"paid_on": shop.today, "today": shop.today, "now": shop.now}
    bookings.record_payout(shop.owner, eur(62_114), eur(0), reference="po_1", **on_day)
    postings.built(shop.owner, order, materials=200_00, labour=420_00, today=shop.today, now=shop.now)
    deliver(shop, order, "8.25")
    take(shop, order, "balance", "pi_2:receipt", fee=3_197)
    order.refresh_from_db()
    back = refund.refund_by_bank(
        shop.owner, order, 10_000, bank_reference="R-1", reason="Goodwill", **on_day
    )
    bookings.record_tax(shop.owner, eur(12_375), reference="September", **on_day)

    assert written() == [
        [(chart.CLEARING, 64_000, 0), (chart.DEPOSITS, 0, 64_000)],
        [(chart.FEES, 1_886, 0), (chart.CLEARING, 0, 1_886)],
        [(chart.BANK, 62_114, 0), (chart.CLEARING, 0, 62_114)],
        [(chart.WORK_IN_PROGRESS, 62_000, 0), (chart.MATERIALS, 0, 20_000), (chart.ABSORBED, 0, 42_000)],
        [(chart.RECEIVABLE, 173_200, 0), (chart.SALES, 0, 160_000), (chart.TAX, 0, 13_200)],
        [(chart.DEPOSITS, 64_000, 0), (chart.RECEIVABLE, 0, 64_000)],
        [(chart.COST_OF_SALES, 62_000, 0), (chart.WORK_IN_PROGRESS, 0, 62_000)],
        [(chart.CLEARING, 109_200, 0), (chart.RECEIVABLE, 0, 109_200)],
        [(chart.FEES, 3_197, 0), (chart.CLEARING, 0, 3_197)],
        [(chart.REFUNDS, 10_000, 0), (chart.TAX, 825, 0), (chart.BANK, 0, 10_825)],
        [(chart.TAX, 12_375, 0), (chart.BANK, 0, 12_375)],
    ]
    assert back.amount == -10_825
    balances = {code: postings.balance(code) for code in (chart.RECEIVABLE, chart.DEPOSITS, chart.TAX)}
    assert set(balances.values()) == {0}
    assert postings.balance(chart.CLEARING) == 95_178 + 10_825


def test_tax_due_on_receipt_is_booked_with_the_deposit(shop):
    """Directive 2006/112/EC article 65: deposit 480.00 at 20 %, final 1 920.00, due 1 440.00."""
    Workshop.objects.update(deposit_tax=Workshop.DepositTax.ON_RECEIPT)
    order = priced(shop, net=160_000, tax=32_000, deposit=48_000)
    take(shop, order, "deposit", "pi_1:receipt")
    issued = deliver(shop, order, "20")
    assert (issued.gross, issued.prepaid, issued.due) == (192_000, 48_000, 144_000)
    assert written() == [
        [(chart.CLEARING, 48_000, 0), (chart.DEPOSITS, 0, 40_000), (chart.TAX, 0, 8_000)],
        [
            (chart.RECEIVABLE, 144_000, 0),
            (chart.DEPOSITS, 40_000, 0),
            (chart.SALES, 0, 160_000),
            (chart.TAX, 0, 24_000),
        ],
    ]


def test_a_cancelled_order_keeps_what_the_terms_let_it_keep(shop):
    order = priced(shop, net=160_000, tax=13_200, deposit=64_000)
    take(shop, order, "deposit", "pi_1:receipt")
    cancelling.cancel_order(
        shop.owner, order, reason="Changed plans", retained=15_000, today=shop.today, now=shop.now
    )
    assert written()[1] == [
        (chart.DEPOSITS, 64_000, 0),
        (chart.OWED, 0, 49_000),
        (chart.FORFEITED, 0, 15_000),
    ]
    assert list(faults()) == []


def test_the_worked_invoice_of_en_16931_sums_to_the_cent():
    """One line 1 450.00, one 66.67, discount 50.00, charge 85.00, all at 20 %, deposit 500.00 (rules BR-CO-10 to -17)."""
    rows = [145_000, 6_667, -5_000, 8_500]
    sums = invoice.totals(
        [{"net": net, "tax_code": "S"} for net in rows], {"S": ("VAT", Decimal(20))}, prepaid=50_000
    )
    assert (sums.net, sums.tax, sums.gross, sums.due) == (155_167, 31_033, 186_200, 136_200)


def test_tax_is_worked_on_the_sum_of_lines_not_line_by_line():
    """Three lines of 33.34 at 19 %: base 100.02, tax 19.00; line by line would give 18.99 (EN 16931 BR-CO-17)."""
    sums = invoice.totals([{"net": 3_334, "tax_code": "S"}] * 3, {"S": ("VAT", Decimal(19))}, prepaid=0)
    assert sums.tax == 1_900


def test_document_numbers_have_no_gap_when_one_in_five_is_rolled_back(either):
    order = priced(either, net=160_000, tax=13_200, deposit=64_000)
    sums = invoice.totals([LINE], {"T": ("Tax", Decimal("8.25"))}, prepaid=0)
    owner = either.owner

    def issue(n: int) -> Invoice:
        with transaction.atomic():
            made = invoice.issue(owner, order, "381", [LINE], sums, today=either.today, now=either.now)
            if n % 5 == 0:
                raise InterruptedError("the power went")
            return made

    results = at_once(20, lambda thread: [_try(issue, thread * 5 + n) for n in range(5)])
    made = [r.number for batch in results for r in batch if isinstance(r, Invoice)]
    assert sorted(made) == [f"C-2026-{n:04d}" for n in range(1, 81)]


def _try(act, n):
    try:
        return act(n)
    except InterruptedError as error:
        return error


def posting(shop, n: int) -> JournalEntry:
    return journal.post(
        THE_SERVICE, f"fact {n}", [debit(chart.BANK, n), credit(chart.CREDIT, n)],
        text="x", currency="EUR", today=shop.today, now=shop.now,
    )  # fmt: skip


def test_no_entry_lands_in_a_month_that_is_being_closed(either):
    posting(either, 1)
    month, owner = either.today.replace(day=1), either.owner

    def act(n: int):
        if n == 7:
            return journal.close_period(owner, month, today=date(2026, 10, 1), now=either.now)
        return posting(either, n + 2)

    results = at_once(20, act)
    assert [r for r in results if isinstance(r, Exception)] == []
    closed = Period.objects.get(first_day=month)
    later = JournalEntry.objects.exclude(period=closed)
    assert closed.state == "closed"
    assert posting(either, 99).posting_date == date(2026, 10, 1)
    assert {e.document_date for e in later} == {either.today}
    assert list(faults()) == []


def test_one_fact_is_posted_once_and_reversed_once_even_by_two_at_a_time(either):
    entry = posting(either, 5)
    owner = either.owner
    again = at_once(4, lambda n: posting(either, 5))
    assert {r.code for r in again} == {"booked-already"}
    twice = at_once(
        2, lambda n: journal.reverse(owner, entry, reason="Wrong account", today=either.today, now=either.now)
    )
    assert sorted(isinstance(r, JournalEntry) for r in twice) == [False, True]
    assert postings.balance(chart.BANK) == 0


def test_a_reversal_needs_a_reason_and_a_role(shop):
    entry = posting(shop, 5)
    for who, reason in ((shop.owner, " "), (shop.at_bench, "why not")):
        with pytest.raises(Refused):
            journal.reverse(who, entry, reason=reason, today=shop.today, now=shop.now)
    assert JournalEntry.objects.count() == 1


def test_the_same_books_export_to_the_same_bytes_on_both_databases(either):
    posting(either, 12_345)
    posting(either, 7)
    content = export.journal_csv()
    assert content.decode().splitlines()[1].split(",")[:10] == [
        "1", "1", "2026-09-14", "2026-09-14", "2026-09", "1000", "Bank", "123.45", "", "EUR",
    ]  # fmt: skip
    assert b"\r" not in content
    assert '"debit": 12352' in export.manifest(content)
    assert JournalEntry.objects.get(number=2).digest == (
        "93e4f7b2ba043ec8da6023fe29d0561bdd56b354cfe466d67c056c43f96a3179"
    )


def test_a_cell_that_a_sheet_would_run_is_kept_as_text(shop):
    journal.post(
        THE_SERVICE, "fact", [debit(chart.BANK, 1), credit(chart.CREDIT, 1)],
        text='=HYPERLINK("x")', currency="EUR", today=shop.today, now=shop.now,
    )  # fmt: skip
    assert b"'=HYPERLINK" in export.journal_csv()


def test_a_whole_order_ties_out_with_its_documents(shop):
    order = shop.dispatched()
    issued = order.invoices.get()
    assert (issued.gross, issued.prepaid + issued.due) == (order.gross, order.gross)
    assert -postings.balance(chart.SALES) - postings.balance(chart.FREIGHT) == order.net
    assert -postings.balance(chart.TAX) == order.tax
    assert postings.balance(chart.BANK) == order.gross
    assert {
        postings.balance(code) for code in (chart.DEPOSITS, chart.RECEIVABLE, chart.WORK_IN_PROGRESS)
    } == {0}
    assert sum(row.debits for row in trial_balance()) == sum(row.credits for row in trial_balance())


def test_sending_on_account_leaves_the_balance_receivable_until_it_comes(shop):
    order = priced(shop, net=160_000, tax=13_200, deposit=64_000)
    take(shop, order, "deposit", "pi_1:receipt")
    deliver(shop, order, "8.25")
    assert postings.balance(chart.RECEIVABLE) == 109_200
    shop.now += timedelta(days=20)
    take(shop, order, "balance", "bank-1", provider="bank")
    assert (postings.balance(chart.RECEIVABLE), postings.balance(chart.BANK)) == (0, 109_200)


def test_lines_and_their_entries_are_all_of_posted_entries(shop):
    shop.dispatched()
    assert not JournalLine.objects.filter(entry__posted=False).exists()
