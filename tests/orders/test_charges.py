"""What the accepted terms say afterwards: kept on cancelling, a fee for a change, storage, carriage, tax of the day."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from orders.models import Invoice, JournalLine, Mail, Order
from orders.refusal import Refused
from orders.services import approval, cancelling, charges, dispatch, invoice, payment
from orders.services.lessons import freight_lessons, freight_of
from orders.services.verify import faults
from quoting.models import TaxRate
from quoting.pricing.money import Money
from tests.orders.shop import Shop


def eur(text: str) -> Money:
    return Money(Decimal(text), "EUR")


def balances(account: str, order: Order) -> int:
    lines = JournalLine.objects.filter(account__code=account, entry__order_number=order.number)
    return sum(line.debit - line.credit for line in lines)


def test_a_tenth_of_the_deposit_is_kept_before_wood_is_cut_and_all_of_it_after(shop: Shop):
    order = shop.queued()
    before = charges.on_cancelling(order)
    assert (before.wood_cut, before.kept) == (False, before.deposit.times(Decimal("0.1")))
    assert before.kept + before.back == before.paid == Money.from_minor(order.deposit, "EUR")
    stages = order.propellers.get().stages
    shop.do(stages.get(key="condition"))
    assert not charges.on_cancelling(order).wood_cut
    shop.do(stages.get(key="laminate"))
    after = charges.on_cancelling(order)
    assert (after.wood_cut, after.kept, after.back) == (True, after.deposit, eur("0"))


def test_what_was_paid_beyond_the_deposit_goes_back_whole(shop: Shop):
    order = shop.ready()
    invoice.issue_invoice(shop.owner, order, today=shop.today, now=shop.now)
    shop.pay(order, "balance")
    found = charges.on_cancelling(order)
    assert (found.kept.minor, found.paid.minor) == (order.deposit, order.gross)


def test_a_cancelled_order_books_what_is_kept_and_tells_the_customer(shop: Shop):
    order = shop.queued()
    kept = charges.on_cancelling(order).kept
    cancelling.cancel_order(
        shop.owner, order, reason="Sold", retained=kept.minor, today=shop.today, now=shop.now
    )
    assert balances("4200", order) == -kept.minor and balances("2000", order) == 0
    assert str(kept.amount) in Mail.objects.get(kind="order-cancelled").body


def test_a_change_after_the_approval_is_charged_on_the_invoice_with_its_tax(shop: Shop):
    order = shop.queued()
    made = charges.charge_change(shop.owner, order, eur("45.00"), reason="Other decal", now=shop.now)
    shop.approve(order, "mock-up")
    shop.release(shop.build(order))
    order.refresh_from_db()
    issued = invoice.issue_invoice(shop.owner, order, today=shop.today, now=shop.now)
    made.refresh_from_db()
    assert (made.invoice, issued.net) == (issued, order.net + 4500)
    assert issued.gross == issued.net + round(issued.net * 0.19 + 1e-9)
    assert order.payment_requests.get(kind="balance").amount == issued.gross - order.deposit
    assert [line["label"] for line in issued.lines][-1] == "change after approval: Other decal"


@pytest.mark.parametrize(("amount", "reason"), [("45.01", "x"), ("0", "x"), ("10", " "), ("10", "x" * 501)])
def test_a_fee_beyond_the_terms_or_without_a_reason_is_refused(shop: Shop, amount, reason):
    order = shop.queued()
    with pytest.raises(Refused) as refused:
        charges.charge_change(shop.owner, order, eur(amount), reason=reason, now=shop.now)
    assert refused.value.field in ("amount", "reason") and not order.charges.exists()


def test_no_change_is_charged_before_the_drawing_was_approved_or_after_the_invoice(shop: Shop):
    waiting = shop.order()
    assert not charges.may_charge_change(waiting)
    order = shop.ready()
    assert charges.may_charge_change(order)
    invoice.issue_invoice(shop.owner, order, today=shop.today, now=shop.now)
    with pytest.raises(Refused):
        charges.charge_change(shop.owner, order, eur("45"), reason="late", now=shop.now)


def test_storage_is_due_after_the_free_weeks_billed_on_a_debit_note_and_booked_with_the_delivery(shop: Shop):
    order = shop.ready()
    shop.do(order.propellers.get().stages.get(key="crate"))
    invoice.issue_invoice(shop.owner, order, today=shop.today, now=shop.now)
    asked = shop.today
    assert charges.storage_of(order, asked + timedelta(days=28)).due == eur("0")
    shop.later(days=38)
    found = charges.storage_of(order, shop.today)
    assert (found.days, found.due) == (38, eur("16.00"))
    charges.charge_storage(shop.owner, order, today=shop.today, now=shop.now)
    note = order.invoices.get(type_code=Invoice.TypeCode.DEBIT_NOTE)
    assert (note.net, note.tax, note.number[0]) == (1600, 304, "D")
    assert "the storage is not paid" in dispatch.hindrances(order)
    with pytest.raises(Refused):
        charges.charge_storage(shop.owner, order, today=shop.today, now=shop.now)
    shop.pay(order, "balance")
    shop.pay(order, "storage")
    dispatch.dispatch_order(shop.owner, order, carrier="Haulage", today=shop.today, now=shop.now)
    assert balances("1100", order) == balances("2000", order) == 0
    assert -balances("2100", order) == order.tax + 304
    assert list(faults()) == []


def test_no_storage_before_the_balance_is_asked_for_however_long_it_is_ready(shop: Shop):
    order = shop.ready()
    shop.later(days=100)
    assert charges.storage_of(order, shop.today) is None
    invoice.issue_invoice(shop.owner, order, today=shop.today, now=shop.now)
    assert charges.storage_of(order, shop.today + timedelta(days=3)).days == 3


def test_no_storage_for_what_is_paid(shop: Shop):
    order = shop.ready()
    invoice.issue_invoice(shop.owner, order, today=shop.today, now=shop.now)
    shop.pay(order, "balance")
    assert charges.storage_of(order, shop.today + timedelta(days=200)) is None


def test_carriage_in_the_end_stands_against_its_estimate_and_teaches_by_country(shop: Shop):
    order = shop.dispatched()
    assert freight_of(order) is None and freight_lessons() == []
    dispatch.note_freight_cost(shop.owner, order, eur("99.50"), now=shop.now)
    order.refresh_from_db()
    found = freight_of(order)
    lines = [n for n in order.quote.results["price"]["lines"] if n["category"] == "freight"]
    assert found.estimated == eur(str(sum(Decimal(n["cost"]["amount"]) for n in lines)))
    assert found.difference == eur("99.50") - found.estimated
    [lesson] = freight_lessons()
    assert (lesson.country, lesson.count, lesson.outcome) == ("DE", 1, found)


def test_an_invoice_takes_the_tax_of_its_own_day(shop: Shop):
    order = shop.ready()
    TaxRate.objects.filter(country="DE").update(valid_to=shop.today - timedelta(days=1))
    TaxRate.objects.create(
        code="DE-16", label="VAT", country="DE", percent_milli=16_000, valid_from=shop.today
    )
    issued = invoice.issue_invoice(shop.owner, order, today=shop.today, now=shop.now)
    assert (issued.net, issued.tax) == (order.net, round(order.net * 0.16 + 1e-9))
    assert [row["code"] for row in issued.taxes] == ["DE-16"]
    assert order.payment_requests.get(kind="balance").amount == issued.gross - order.deposit


def test_without_a_rate_for_the_day_nothing_is_invoiced(shop: Shop):
    order = shop.ready()
    TaxRate.objects.all().update(valid_to=date(2026, 1, 1))
    with pytest.raises(Refused, match="no tax rate holds"):
        invoice.issue_invoice(shop.owner, order, today=shop.today, now=shop.now)
    assert not order.invoices.exists()


def test_asking_again_keeps_the_approved_drawing_that_lets_a_change_be_charged(shop: Shop):
    order = shop.queued()
    last = order.approvals.filter(kind="drawing").order_by("-revision").first()
    approval.ask_for_approval(shop.owner, order, "drawing", last.shown, note="Other decal", now=shop.now)
    assert charges.may_charge_change(order)


def test_payments_are_told_apart_by_their_reference(shop: Shop):
    order = shop.order()
    assert len(set(payment.LETTERS.values())) == len(payment.LETTERS) == 3
    assert order.payment_requests.get().reference.endswith("-D")
