"""What follows from the accepted terms: what is kept on cancelling, the fee for a change, storage of an unpaid propeller.

The figures are those of the price book the quote was made under (see `quoting.pricing.deposit`).
"""

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.db.models import Sum
from django.utils import timezone

from orders.models import Approval, Charge, Invoice, Order, PaymentRequest, Stage
from orders.refusal import Refused
from orders.services import audit, invoice, letters
from orders.services.steps import locked
from orders.who import BOOKKEEPER, OWNER, Who
from quoting.pricing import deposit
from quoting.pricing.book import PriceBook
from quoting.pricing.money import Money
from quoting.propeller.build import STAGES
from quoting.services.pricebook import book_behind

UNCUT = next(iter(STAGES))
"""The first stage, in which boards are chosen and not yet cut to laminations."""
K = Charge.Kind


@dataclass(frozen=True, slots=True)
class Cancelling:
    """What the terms say of a cancellation now: of the deposit `kept` stays, everything else paid goes back."""

    deposit: Money
    paid: Money
    wood_cut: bool
    kept: Money

    @property
    def back(self) -> Money:
        return self.paid - self.kept


@dataclass(frozen=True, slots=True)
class Storage:
    """Storage of a ready, unpaid propeller: what the terms come to, and what of it is charged already.

    `days` count from the day its balance was asked for.
    """

    days: int
    due: Money
    charged: Money

    @property
    def open(self) -> Money:
        return self.due - self.charged


def book_of_order(order: Order) -> PriceBook:
    """The price book the accepted quote was made under."""
    return book_behind(order.quote.price_book)


def wood_is_cut(order: Order) -> bool:
    """Whether any stage after the choosing of boards has begun."""
    begun = Stage.objects.filter(
        propeller__order=order, state__in=[Stage.State.STARTED, Stage.State.DONE]
    ).exclude(key=UNCUT)
    return begun.exists()


def on_cancelling(order: Order) -> Cancelling:
    """What the accepted terms let the shop keep of what was paid."""
    paid = order.payments.aggregate(sum=Sum("amount"))["sum"] or 0
    asked = order.payment_requests.filter(kind=PaymentRequest.Kind.DEPOSIT).first()
    held = min(asked.paid, asked.amount) if asked else 0
    cut = wood_is_cut(order)
    money = Money.from_minor(min(held, paid), order.currency)
    kept = deposit.kept_on_cancelling(money, book_of_order(order), wood_cut=cut)
    return Cancelling(money, Money.from_minor(paid, order.currency), cut, kept)


def change_fee(order: Order) -> Money:
    return deposit.change_fee(book_of_order(order))


def may_charge_change(order: Order) -> bool:
    """Whether a drawing was approved at some time, so that a change costs its fee, and no invoice is out yet."""
    approved = order.approvals.filter(kind=Approval.Kind.DRAWING, state=Approval.State.APPROVED).exists()
    return approved and order.is_open and not _invoiced(order)


def storage_of(order: Order, today: date) -> Storage | None:
    """Storage of a ready order whose balance is asked for and not paid; None while there is none to speak of."""
    if order.state != Order.State.READY:
        return None
    balance = order.payment_requests.filter(kind=PaymentRequest.Kind.BALANCE).first()
    if balance is None or balance.is_settled:
        return None
    days = max((today - timezone.localdate(balance.asked_at)).days, 0)
    charged = order.charges.filter(kind=K.STORAGE).aggregate(sum=Sum("net"))["sum"] or 0
    due = deposit.storage(book_of_order(order), days)
    return Storage(days, due, Money.from_minor(charged, order.currency))


@transaction.atomic
def charge_change(who: Who, order: Order, net: Money, *, reason: str, now: datetime) -> Charge:
    """Charge a change after the drawing was approved, up to the terms' fee; it goes on the invoice."""
    who.must_be(OWNER)
    order = locked(order)
    if not may_charge_change(order):
        raise Refused("no-change", "A change is charged between the approval of the drawing and the invoice.")
    most = change_fee(order)
    if not 0 < net.minor <= most.minor:
        raise Refused("amount", f"The terms allow a fee of up to {most}.", status=400, field="amount")
    made = _charge(who, order, K.CHANGE, net, reason, now=now)
    letters.charged(made, now=now)
    return made


@transaction.atomic
def charge_storage(who: Who, order: Order, *, today: date, now: datetime) -> Charge:
    """Charge the storage that has come up so far; after the invoice it stands on a debit note of its own."""
    who.must_be(OWNER, BOOKKEEPER)
    order = locked(order)
    due = storage_of(order, today)
    if due is None or due.open.minor <= 0:
        raise Refused("no-storage", "No storage is due: it is paid, not ready, or within the free weeks.")
    words = f"storage, the balance open for {due.days} days"
    made = _charge(who, order, K.STORAGE, due.open, words, now=now)
    if _invoiced(order):
        invoice.debit_note(who, order, made, today=today, now=now)
    letters.charged(made, now=now)
    return made


def _invoiced(order: Order) -> bool:
    return order.invoices.filter(type_code=Invoice.TypeCode.INVOICE).exists()


def _charge(who: Who, order: Order, kind: str, net: Money, reason: str, *, now: datetime) -> Charge:
    reason = reason.strip()
    if not reason or len(reason) > 500:
        raise Refused(
            "reason", "Say why in up to 500 characters; it stands on the invoice.", status=400, field="reason"
        )
    made = Charge.objects.create(
        order=order, kind=kind, net=net.minor, reason=reason, charged_by=who.user, charged_at=now
    )
    audit.record(who, "charge", f"order {order.number}", now=now, reason=reason, detail={kind: net.minor})
    return made
