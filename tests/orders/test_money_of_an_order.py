"""Whatever is paid, credited, sent, refunded or cancelled in whatever turn: the books balance and owe what is owed."""

from collections import Counter
from decimal import Decimal

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orders.models import Invoice, JournalEntry, Order, Payment, PaymentRequest, Stage, Workshop
from orders.refusal import Refused
from orders.services import (
    cancelling,
    charges,
    chart,
    crediting,
    dispatch,
    invoice,
    payment,
    postings,
    refund,
)
from orders.services.owed import back_of
from orders.services.verify import faults, trial_balance
from tests.kit.databases import SQLiteFile
from tests.orders.shop import Shop

KINDS = ["deposit", "balance", "storage", "too much", "invoice", "charge", "credit", "dispatch", "cancel"]
KINDS += ["pay back", "refund"]
SHARES = st.integers(1, 99)
DEPOSIT, INVOICE, SENT = ("deposit", 99), ("invoice", 1), ("dispatch", 1)
BEGUN = [
    [],
    [DEPOSIT],
    [DEPOSIT, ("too much", 9), INVOICE],
    [DEPOSIT, ("too much", 9), INVOICE, ("cancel", 50)],
    [DEPOSIT, INVOICE, SENT],
    [DEPOSIT, INVOICE, ("balance", 99)],
    [DEPOSIT, INVOICE, ("balance", 99), SENT, ("refund", 40)],
]


def prepare() -> None:
    """One order, built and ready, on which nothing is paid."""
    shop = Shop()
    order = shop.order()
    Stage.objects.filter(propeller__order=order).update(state="done")
    order.propellers.update(state="released")
    Order.objects.filter(pk=order.pk).update(state="ready")
    with transaction.atomic():
        postings.built(shop.owner, order, materials=20_000, labour=40_000, today=shop.today, now=shop.now)


@pytest.fixture(scope="module")
def ready(sqlite_template: SQLiteFile, tmp_path_factory, django_db_blocker) -> SQLiteFile:
    """Copies of a shop with that order."""
    with django_db_blocker.unblock():
        return SQLiteFile(tmp_path_factory.mktemp("ready"), prepare, start=sqlite_template)


class Books:
    """One ready order of a shop, and each step as its people would take it; what is refused changes nothing."""

    def __init__(self, shop: Shop) -> None:
        self.shop, self.count, self.kept = shop, 0, 0
        self.order = Order.objects.get()

    @property
    def clock(self) -> dict:
        return {"today": self.shop.today, "now": self.shop.now}

    def reference(self) -> str:
        self.count += 1
        return f"B-{self.count}"

    def take(self, step: str, share: int) -> None:
        self.order.refresh_from_db()
        self.shop.later(minutes=5)
        try:
            self.at_most(step, share)
        except (Refused, PaymentRequest.DoesNotExist, Invoice.DoesNotExist):
            pass

    def at_most(self, step: str, share: int) -> None:
        who, order = self.shop.owner, self.order
        if step in ("deposit", "balance", "storage"):
            asked = order.payment_requests.get(kind=step)
            self.receive(asked, max(asked.open * (share + 30) // 100, 1))
        elif step == "too much":
            asked = order.payment_requests.order_by("-id").first()
            self.receive(asked, asked.open + 100 * share)
        elif step == "invoice":
            invoice.issue_invoice(who, order, **self.clock)
        elif step == "charge":
            self.shop.later(days=40)
            charges.charge_storage(who, order, **self.clock)
        elif step == "credit":
            papers = order.invoices.exclude(type_code=Invoice.TypeCode.CREDIT_NOTE)
            paper = list(papers.order_by("id"))[share % papers.count()] if papers else papers.get()
            lines = crediting.uncredited(paper)
            keys = [line["key"] for line in (lines if share < 20 else lines[share % 3 :: 3])]
            crediting.credit_note(who, paper, keys, reason="Not made", **self.clock)
        elif step == "dispatch":
            dispatch.dispatch_order(who, order, carrier="Haulage", on_account="A club", **self.clock)
        elif step == "cancel":
            most = charges.on_cancelling(order).kept.minor
            cancelling.cancel_order(who, order, reason="Sold", retained=most * share // 100, **self.clock)
            self.kept = most * share // 100
        elif step == "pay back":
            self.pay_back(max(back_of(order).owed * (share + 10) // 100, 1))
        elif step == "refund":
            net = max(back_of(order).net * share // 300, 1)
            refund.refund_by_bank(
                who, order, net, bank_reference=self.reference(), reason="Scratch", paid_on=self.shop.today,
                **self.clock,
            )  # fmt: skip

    def receive(self, asked: PaymentRequest, amount: int) -> None:
        payment.record_bank_transfer(
            self.shop.owner, asked, amount, bank_reference=self.reference(), received_on=self.shop.today,
            **self.clock,
        )  # fmt: skip

    def pay_back(self, amount: int) -> None:
        refund.pay_back_by_bank(
            self.shop.owner, self.order, amount, bank_reference=self.reference(), paid_on=self.shop.today,
            **self.clock,
        )  # fmt: skip

    def owed(self) -> int:
        """What the customer has with the shop, reckoned from the papers and payments alone: paid less what it is for."""
        order = self.order
        paid = sum(order.payments.values_list("amount", flat=True))
        if order.state == "cancelled":
            return paid - self.kept
        if order.state != "dispatched":
            return paid
        sold = sum(
            (-1 if p.type_code == Invoice.TypeCode.CREDIT_NOTE else 1) * p.gross for p in order.invoices.all()
        )
        goodwill = sum(
            line.debit
            for entry in self.goodwill()
            for line in entry.lines.filter(account__code__in=[chart.REFUNDS, chart.TAX])
        )
        return paid - (sold - goodwill)

    def goodwill(self) -> list[JournalEntry]:
        given = Payment.objects.filter(order=self.order, kind="refund").values_list("fact", flat=True)
        return list(JournalEntry.objects.filter(source__in=[f"refund bank {fact}" for fact in given]))

    def check(self) -> None:
        order = self.order
        order.refresh_from_db()
        assert sum(row.debits - row.credits for row in trial_balance()) == 0
        found = postings.standing(order)
        theirs = found.credit + found.owed - found.receivable
        if order.state not in ("dispatched", "cancelled"):
            theirs += found.on_account
        assert theirs == self.owed()
        if order.state == "dispatched":
            assert found.receivable == sum(
                r.open for r in order.payment_requests.exclude(kind="deposit")
            ) or (order.payment_requests.get(kind="deposit").open)
            assert found.revenue >= 0 and found.tax >= 0


@pytest.mark.parametrize("tax", Workshop.DepositTax.values)
def test_after_any_steps_the_books_balance_and_owe_the_customer_what_is_owed(ready, django_db_blocker, tax):
    ends: Counter[str] = Counter()

    @settings(max_examples=15, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
    @given(
        begun=st.sampled_from(BEGUN), steps=st.lists(st.tuples(st.sampled_from(KINDS), SHARES), max_size=8)
    )
    def prove(begun, steps):
        with ready.fresh() as database:
            Workshop.objects.update(deposit_tax=tax)
            books = Books(Shop(database=database))
            for step, share in [*begun, *steps]:
                books.take(step, share)
                books.check()
            if not books.order.is_open and back_of(books.order).owed:
                books.pay_back(back_of(books.order).owed)
                books.check()
                ends["paid back"] += 1
            left = postings.standing(books.order)
            assert books.order.is_open or (left.owed, left.credit, left.held) == (0, 0, 0)
            assert list(faults()) == []
            ends[books.order.state] += 1
            ends["credited"] += books.order.invoices.filter(type_code="381").exists()
            ends["refunded"] += postings.balance(chart.REFUNDS) > 0

    with django_db_blocker.unblock():
        prove()
    reached = {name: ends[name] for name in ("paid back", "cancelled", "dispatched", "credited", "refunded")}
    assert min(reached.values()) > 0, reached


def test_every_cent_of_tax_goes_back_however_many_notes_credit_the_lines(shop: Shop):
    order = shop.dispatched()
    bill = order.invoices.get()
    *singly, last = [line["key"] for line in bill.lines if line["net"] > 0]
    discounts = [line["key"] for line in bill.lines if line["net"] <= 0]
    for keys in [*([key] for key in singly), [last, *discounts]]:
        crediting.credit_note(shop.owner, bill, keys, reason="Not made", today=shop.today, now=shop.now)
    found = postings.standing(order)
    off = postings.balance(chart.ROUNDING, order_number=order.number)
    assert (found.revenue, found.tax, found.receivable) == (0, 0, 0)
    assert abs(off) <= len(bill.lines) and found.owed == order.gross + off
    assert Decimal(found.owed) == sum(n.gross for n in order.invoices.filter(type_code="381"))
    assert list(faults()) == []
