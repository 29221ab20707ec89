"""Money that goes back: owed after cancelling, refunds of a sale, by bank and by card, never more than is there."""

import urllib.request
from datetime import timedelta

import pytest
import stripe
from django.utils import timezone

from orders.models import CardRefund, Invoice, JournalEntry, Mail, Order, OutboxJob, Payment, Workshop
from orders.refusal import Refused
from orders.services import cancelling, charges, chart, dispatch, invoice, payment, postings, refund
from orders.services.owed import back_of, on_cards, orders_owed
from orders.services.refund import KEY_IS_KEPT
from orders.services.verify import faults
from orders.worker import JOBS
from tests.kit.crowd import at_once
from tests.orders.card_steps import begin, pay_by_card, work_off
from tests.orders.shop import Shop


def cancel(shop: Shop, order: Order, retained: int = 0) -> None:
    cancelling.cancel_order(
        shop.owner, order, reason="Sold", retained=retained, today=shop.today, now=shop.now
    )
    order.refresh_from_db()


def by_bank(shop: Shop, order: Order, amount: int, reference: str = "R-1") -> Payment:
    return refund.pay_back_by_bank(
        shop.bookkeeper, order, amount, bank_reference=reference, paid_on=shop.today, today=shop.today,
        now=shop.now,
    )  # fmt: skip


def refund_by_bank(shop: Shop, order: Order, net: int, reference: str = "R-1") -> Payment:
    return refund.refund_by_bank(
        shop.bookkeeper, order, net, bank_reference=reference, reason="Scratch", paid_on=shop.today,
        today=shop.today, now=shop.now,
    )  # fmt: skip


def transfer(shop: Shop, order: Order, amount: int, reference: str, kind: str = "deposit") -> None:
    payment.record_bank_transfer(
        shop.bookkeeper, order.payment_requests.get(kind=kind), amount, bank_reference=reference,
        received_on=shop.today, today=shop.today, now=shop.now,
    )  # fmt: skip


def accounts(order: Order) -> dict[str, int]:
    """The balances of an order that are not nothing."""
    codes = {code: postings.balance(code, order_number=order.number) for code in chart.CHART}
    return {code: balance for code, balance in codes.items() if balance}


def test_a_deposit_by_card_goes_back_to_the_card_and_the_books_of_the_order_end_at_nothing(
    either, with_cards
):
    order = either.order()
    pay_by_card(either, with_cards, order)
    kept = charges.on_cancelling(order).kept.minor
    cancel(either, order, kept)
    assert accounts(order)[chart.OWED] == -(order.deposit - kept)
    assert [(o.number, owed) for o, owed in orders_owed()] == [(order.number, order.deposit - kept)]
    refund.pay_back_by_card(either.bookkeeper, order, order.deposit - kept, now=either.now)
    assert (back_of(order).owed, back_of(order).queued) == (0, order.deposit - kept)
    for _ in range(2):
        work_off()
    fee = Payment.objects.get(kind="receipt").fee
    assert accounts(order) == {chart.CLEARING: kept - fee, chart.FORFEITED: -kept, chart.FEES: fee}
    given = Payment.objects.get(kind="refund")
    assert (given.provider, given.amount) == ("stripe", kept - order.deposit)
    assert CardRefund.objects.get().given == given and on_cards(order)[0][1] == kept
    assert Mail.objects.filter(kind="money-back").count() == 1
    assert list(faults()) == []


def test_what_was_paid_beyond_the_deposit_is_owed_back_with_it(shop: Shop):
    order = shop.order()
    transfer(shop, order, order.deposit + 5_000, "B-1")
    assert charges.on_cancelling(order).deposit.minor == order.deposit
    cancel(shop, order, 1_000)
    assert back_of(order).owed == order.deposit + 4_000
    by_bank(shop, order, back_of(order).owed)
    assert accounts(order) == {chart.BANK: 1_000, chart.FORFEITED: -1_000}
    assert list(faults()) == []


def test_tax_booked_on_receipt_is_taken_back_with_the_cancelling(shop: Shop):
    Workshop.objects.update(deposit_tax=Workshop.DepositTax.ON_RECEIPT)
    order = shop.queued()
    assert accounts(order)[chart.TAX] < 0
    Workshop.objects.update(deposit_tax=Workshop.DepositTax.AT_DELIVERY)
    cancel(shop, order)
    assert accounts(order) == {chart.BANK: order.deposit, chart.OWED: -order.deposit}


def test_a_ready_order_cancelled_has_its_build_written_off_and_its_invoice_credited(shop: Shop):
    order = shop.ready()
    issued = invoice.issue_invoice(shop.owner, order, today=shop.today, now=shop.now)
    shop.pay(order, "balance")
    cancel(shop, order, 1_000)
    note = order.invoices.get(type_code=Invoice.TypeCode.CREDIT_NOTE)
    assert (note.corrects, note.net, note.tax, note.gross) == (issued, issued.net, issued.tax, issued.gross)
    by_bank(shop, order, order.gross - 1_000)
    left = accounts(order)
    cost = left.pop(chart.COST_OF_SALES)
    assert cost == -(left.pop(chart.MATERIALS) + left.pop(chart.ABSORBED)) > 0
    assert left == {chart.BANK: 1_000, chart.FORFEITED: -1_000}
    assert list(faults()) == []


def test_a_session_still_open_is_closed_with_the_cancelling_and_takes_no_new_one(shop: Shop, with_cards):
    order = shop.order()
    attempt = begin(shop, order)
    cancel(shop, order)
    work_off()
    attempt.refresh_from_db()
    assert attempt.state == "expired"
    with pytest.raises(Refused, match="cancelled"):
        begin(shop, order)


def test_money_that_comes_for_a_cancelled_order_is_owed_back_and_told_to_the_owner(shop: Shop, with_cards):
    order = shop.order()
    attempt = begin(shop, order)
    with_cards.pay(attempt.session)
    cancel(shop, order)
    work_off()
    assert back_of(order).owed == order.deposit
    assert Mail.objects.filter(subject__contains="cancelled order").exists()
    transfer(shop, order, 700, "B-late")
    assert back_of(order).owed == order.deposit + 700
    assert list(faults()) == []


def test_two_refunds_at_once_give_back_no_more_than_is_there(either: Shop):
    order = either.dispatched()
    net = order.net - 1_000
    results = at_once(4, lambda n: refund_by_bank(either, order, net, f"R-{n}"))
    assert sorted(isinstance(r, Payment) for r in results) == [False, False, False, True]
    assert {r.field for r in results if isinstance(r, Refused)} == {"net"}
    assert postings.balance(chart.REFUNDS) == net
    assert list(faults()) == []


def test_two_who_pay_back_at_once_by_bank_and_by_card_pay_once(either: Shop, with_cards):
    order = either.order()
    pay_by_card(either, with_cards, order)
    cancel(either, order)

    def act(n: int):
        if n % 2:
            return refund.pay_back_by_card(either.bookkeeper, order, order.deposit, now=either.now)
        return by_bank(either, order, order.deposit, f"R-{n}")

    results = at_once(6, act)
    assert sum(not isinstance(r, Exception) for r in results) == 1
    work_off()
    assert -sum(p.amount for p in Payment.objects.filter(kind="refund")) == order.deposit
    assert accounts(order).get(chart.OWED, 0) == 0


def delivered_by_card(shop: Shop, with_cards) -> Order:
    """Sent, deposit and balance paid by card."""
    order = shop.order()
    pay_by_card(shop, with_cards, order)
    shop.approve(order, "drawing")
    shop.approve(order, "mock-up")
    shop.release(shop.build(order))
    shop.do(order.propellers.get().stages.get(key="crate"))
    order.refresh_from_db()
    invoice.issue_invoice(shop.owner, order, today=shop.today, now=shop.now)
    pay_by_card(shop, with_cards, order, "balance")
    return dispatch.dispatch_order(shop.owner, order, carrier="Haulage", today=shop.today, now=shop.now)


def test_a_refund_by_card_goes_over_every_payment_and_leaves_no_cent(shop: Shop, with_cards):
    order = delivered_by_card(shop, with_cards)
    first, second = 1_001, order.net - 1_001
    tax = back_of(order).tax_on(first)
    refund.refund_by_card(shop.bookkeeper, order, first, reason="Scratch", now=shop.now)
    asked = CardRefund.objects.get()
    assert (asked.net, asked.tax, asked.amount) == (first, tax, first + tax)
    assert (back_of(order).net, back_of(order).queued) == (second, first + tax)
    with pytest.raises(Refused) as refused:
        refund_by_bank(shop, order, second + 1)
    assert refused.value.field == "net"
    refund.refund_by_card(shop.bookkeeper, order, second, reason="All of it", now=shop.now)
    assert CardRefund.objects.count() == 3  # the second goes over both payments
    work_off()
    assert sum(p.amount for p in order.payments.all()) == 0
    left = accounts(order)
    assert {left.get(c, 0) for c in (chart.TAX, chart.OWED, chart.RECEIVABLE)} == {0}
    assert left[chart.REFUNDS] == order.net
    assert list(faults()) == []


def test_what_the_provider_refuses_is_told_and_is_owed_again(shop: Shop, with_cards):
    order = shop.order()
    pay_by_card(shop, with_cards, order)
    cancel(shop, order)
    intent = Payment.objects.get().fact.removesuffix(":receipt")
    given = urllib.request.Request(  # noqa: S310 - loopback; as if given back at the provider's own pages
        f"{with_cards.address}/v1/refunds", f"payment_intent={intent}&amount=500".encode()
    )
    urllib.request.urlopen(given, timeout=10).close()  # noqa: S310
    refund.pay_back_by_card(shop.bookkeeper, order, order.deposit, now=shop.now)
    work_off()
    asked = CardRefund.objects.get()
    assert (asked.state, back_of(order).owed) == ("failed", order.deposit)
    assert "more than is left" in asked.trouble
    assert Mail.objects.filter(subject__contains="refused").count() == 1


def test_a_refund_whose_answer_was_lost_is_made_once_even_after_the_key_is_forgotten(shop: Shop, with_cards):
    order = shop.order()
    pay_by_card(shop, with_cards, order)
    cancel(shop, order)
    refund.pay_back_by_card(shop.bookkeeper, order, 1_000, now=shop.now)
    job = OutboxJob.objects.get(kind="refund-by-card")
    with_cards.ask("/_standin/fail-after-next", "")
    with pytest.raises(stripe.APIConnectionError):
        JOBS[job.kind](job.payload)
    CardRefund.objects.update(tried_at=timezone.now() - 2 * KEY_IS_KEPT)
    JOBS[job.kind](job.payload)
    intent = Payment.objects.get(kind="receipt").fact.removesuffix(":receipt")
    made = [e["data"]["object"] for e in with_cards.events() if e["type"] == "refund.created"]
    assert [r["amount"] for r in made if r["payment_intent"] == intent] == [1_000]
    assert (CardRefund.objects.get().state, back_of(order).owed) == ("done", order.deposit - 1_000)


def test_cards_take_back_no_more_than_was_paid_by_card(shop: Shop, with_cards):
    order = shop.order()
    pay_by_card(shop, with_cards, order)
    transfer(shop, order, 9_000, "B-1")
    cancel(shop, order)
    with pytest.raises(Refused) as refused:
        refund.pay_back_by_card(shop.bookkeeper, order, order.deposit + 1, now=shop.now)
    assert refused.value.field == "amount"
    refund.pay_back_by_card(shop.bookkeeper, order, order.deposit, now=shop.now)
    by_bank(shop, order, 9_000)
    work_off()
    assert back_of(order).owed == 0 and list(faults()) == []


def test_pay_back_is_refused_without_need_role_reference_or_on_a_day_to_come(shop: Shop):
    order = shop.queued()
    with pytest.raises(Refused, match="Nothing is owed"):
        by_bank(shop, order, 100)
    cancel(shop, order)
    tomorrow = shop.today + timedelta(days=1)
    on_day = {"today": shop.today, "now": shop.now}
    for who, amount, reference, day, field in (
        (shop.bookkeeper, 0, "R", shop.today, "amount"),
        (shop.bookkeeper, order.deposit + 1, "R", shop.today, "amount"),
        (shop.bookkeeper, 5, " ", shop.today, "bank_reference"),
        (shop.bookkeeper, 5, "x" * 121, shop.today, "bank_reference"),
        (shop.bookkeeper, 5, "R", tomorrow, "paid_on"),
        (shop.at_bench, 5, "R", shop.today, ""),
    ):
        with pytest.raises(Refused) as refused:
            refund.pay_back_by_bank(who, order, amount, bank_reference=reference, paid_on=day, **on_day)
        assert refused.value.field == field
    by_bank(shop, order, 5)
    with pytest.raises(Refused) as refused:
        by_bank(shop, order, 6)
    assert refused.value.field == "bank_reference"
    assert JournalEntry.objects.filter(source__startswith="refund").count() == 1
