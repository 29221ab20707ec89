"""What the service writes to people, in the customer's language; each letter assumes the caller's transaction."""

from datetime import datetime

from django.contrib.auth.models import User
from django.utils import translation
from django.utils.translation import gettext as _

from orders.links import desk_link, enquiry_link, order_link, quote_link
from orders.models import (
    Approval,
    Charge,
    Confirmation,
    Customer,
    Enquiry,
    Invoice,
    Order,
    Payment,
    PaymentRequest,
    Workshop,
)
from orders.services import mail
from orders.who import OWNER
from orders.words import day_words, money_words
from quoting.models import Quote
from quoting.pricing.money import Money


def _write(kind: str, customer: Customer, subject: str, body: str, *, now: datetime, about: str = "") -> None:
    workshop = Workshop.objects.first()
    greeting = _("Dear %(name)s,") % {"name": customer.name}
    closing = workshop.name if workshop else _("Your workshop")
    mail.write(
        kind, customer.email, subject, f"{greeting}\n\n{body}\n\n{closing}\n",
        now=now, customer=customer, about=about,
    )  # fmt: skip


def _sum(minor: int, currency: str) -> str:
    return money_words(Money.from_minor(minor, currency))


def alert_owner(subject: str, body: str, *, now: datetime, about: Enquiry | Order | None = None) -> None:
    """Tell everybody with the owner's role, and the workshop's own address when nobody has one.

    The mail leads to the desk's page of what it is `about`.
    """
    workshop = Workshop.objects.first()
    owners = list(User.objects.filter(groups__name=OWNER, is_active=True).exclude(email=""))
    addresses = [owner.email for owner in owners] or ([workshop.email] if workshop and workshop.email else [])
    for address in addresses:
        mail.write("alert", address, subject, f"{body}\n\n{desk_link(about)}\n", now=now)


def enquiry_stored(enquiry: Enquiry, *, now: datetime) -> None:
    with translation.override(enquiry.language):
        _write(
            "enquiry-stored", enquiry.customer, _("Your enquiry %(number)s") % {"number": enquiry.number},
            _("Thank you. We look at your enquiry and answer with a quote or a question. You find it here:\n%(link)s")
            % {"link": enquiry_link(enquiry)},
            now=now, about=enquiry.token,
        )  # fmt: skip


def enquiry_asked_back(enquiry: Enquiry, *, now: datetime) -> None:
    with translation.override(enquiry.language):
        _write(
            "enquiry-question", enquiry.customer,
            _("A question on your enquiry %(number)s") % {"number": enquiry.number},
            _("%(question)s\n\nPlease answer here:\n%(link)s")
            % {"question": enquiry.question, "link": enquiry_link(enquiry)},
            now=now, about=enquiry.token,
        )  # fmt: skip


def enquiry_declined(enquiry: Enquiry, *, now: datetime) -> None:
    with translation.override(enquiry.language):
        _write(
            "enquiry-declined", enquiry.customer, _("Your enquiry %(number)s") % {"number": enquiry.number},
            _("We are sorry, we cannot make this propeller: %(reason)s") % {"reason": enquiry.reason},
            now=now, about=enquiry.token,
        )  # fmt: skip


def quote_sent(quote: Quote, customer: Customer, *, now: datetime) -> None:
    with translation.override(customer.language):
        until = day_words(quote.expires_at) if quote.expires_at else ""
        _write(
            "quote-sent", customer, _("Quote %(reference)s") % {"reference": quote.reference},
            _("Your quote is ready: %(gross)s. It holds until %(until)s. Read, ask or accept here:\n%(link)s")
            % {"gross": money_words(quote.gross), "until": until, "link": quote_link(quote)},
            now=now, about=quote.token,
        )  # fmt: skip


def order_accepted(order: Order, request: PaymentRequest, *, now: datetime) -> None:
    with translation.override(order.customer.language):
        _write(
            "order-accepted", order.customer, _("Order %(number)s") % {"number": order.number},
            _(
                "Thank you for your order. Next we need the deposit of %(deposit)s (reference %(reference)s) "
                "and your word on the drawing and the mock-up.%(questions)s Everything is here:\n%(link)s"
            )
            % {
                "questions": _open_questions(order),
                "deposit": _sum(request.amount, request.currency),
                "reference": request.reference,
                "link": order_link(order),
            },
            now=now, about=order.token,
        )  # fmt: skip


def _open_questions(order: Order) -> str:
    """What the work waits for besides, as further lines; nothing when all is answered."""
    rows = order.confirmations.filter(state=Confirmation.State.OPEN)
    lines = "\n".join(f"- {row.question}" for row in rows)
    return (
        _("\n\nBefore the work begins, please answer too:\n%(lines)s\n\n") % {"lines": lines} if lines else ""
    )


def order_revised(order: Order, *, now: datetime) -> None:
    with translation.override(order.customer.language):
        _write(
            "order-revised", order.customer, _("Order %(number)s is revised") % {"number": order.number},
            _(
                "Your order now stands on %(quote)s. What you have paid stays paid. "
                "Drawing and mock-up are drawn anew; please look at them again:\n%(link)s"
            )
            % {"quote": order.quote.reference, "link": order_link(order)},
            now=now, about=order.token,
        )  # fmt: skip


def receipt(payment: Payment, *, now: datetime) -> None:
    order = payment.order
    if order is None:
        return
    with translation.override(order.customer.language):
        _write(
            "receipt", order.customer,
            _("Payment received, order %(number)s") % {"number": order.number},
            _("We have received %(amount)s with thanks. Where your order stands:\n%(link)s")
            % {"amount": _sum(payment.amount, payment.currency), "link": order_link(order)},
            now=now, about=order.token,
        )  # fmt: skip


def money_back(payment: Payment, *, now: datetime) -> None:
    order = payment.order
    if order is None:
        return
    with translation.override(order.customer.language):
        way = _("by bank transfer") if payment.provider == "bank" else _("to the card you paid with")
        _write(
            "money-back", order.customer,
            _("Money sent back, order %(number)s") % {"number": order.number},
            _("We have sent back %(amount)s %(way)s. Where your order stands:\n%(link)s")
            % {
                "amount": _sum(-payment.amount, payment.currency),
                "way": way,
                "link": order_link(order),
            },
            now=now, about=order.token,
        )  # fmt: skip


def credited(note: Invoice, reason: str, *, now: datetime) -> None:
    order = note.order
    with translation.override(order.customer.language):
        _write(
            "credit-note", order.customer, _("Credit note %(number)s") % {"number": note.number},
            _("We credit you %(gross)s on invoice %(invoice)s: %(reason)s. The paper is here:\n%(link)s")
            % {
                "gross": _sum(note.gross, note.currency),
                "invoice": note.corrects.number if note.corrects else "",
                "reason": reason,
                "link": order_link(order),
            },
            now=now, about=order.token,
        )  # fmt: skip


def approval_asked(approval: Approval, *, now: datetime) -> None:
    order = approval.order
    with translation.override(order.customer.language):
        _write(
            "approval-asked", order.customer,
            _("Please look at the %(kind)s, order %(number)s")
            % {"kind": approval.get_kind_display(), "number": order.number},
            _("Revision %(revision)s is ready for your word:\n%(link)s")
            % {"revision": approval.revision, "link": order_link(order)},
            now=now, about=order.token,
        )  # fmt: skip


def order_queued(order: Order, *, now: datetime) -> None:
    with translation.override(order.customer.language):
        day = day_words(order.promise) if order.promise else _("not set yet")
        _write(
            "order-queued", order.customer, _("Order %(number)s is in the queue") % {"number": order.number},
            _("Your propeller has its place in the queue. We plan on %(day)s. Follow it here:\n%(link)s")
            % {"day": day, "link": order_link(order)},
            now=now, about=order.token,
        )  # fmt: skip


def invoice_issued(invoice: Invoice, *, now: datetime) -> None:
    order = invoice.order
    with translation.override(order.customer.language):
        _write(
            "invoice", order.customer, _("Invoice %(number)s") % {"number": invoice.number},
            _("Your propeller is inspected and released. The balance is %(due)s, due %(day)s:\n%(link)s")
            % {
                "due": _sum(invoice.due, invoice.currency),
                "day": day_words(invoice.due_on),
                "link": order_link(order),
            },
            now=now, about=order.token,
        )  # fmt: skip


def charged(charge: Charge, *, now: datetime) -> None:
    order = charge.order
    with translation.override(order.customer.language):
        _write(
            "charged", order.customer, _("A charge on order %(number)s") % {"number": order.number},
            _("By the terms of your order we charge %(sum)s before tax: %(what)s. It stands here:\n%(link)s")
            % {
                "sum": _sum(charge.net, order.currency),
                "what": charge.reason,
                "link": order_link(order),
            },
            now=now, about=order.token,
        )  # fmt: skip


def order_cancelled(order: Order, kept: Money, back: Money, reason: str, *, now: datetime) -> None:
    with translation.override(order.customer.language):
        _write(
            "order-cancelled", order.customer, _("Order %(number)s is cancelled") % {"number": order.number},
            _("%(reason)s\n\nOf what you paid we keep %(kept)s by the terms and give back %(back)s.\n%(link)s")
            % {"reason": reason, "kept": money_words(kept), "back": money_words(back), "link": order_link(order)},
            now=now, about=order.token,
        )  # fmt: skip


def order_dispatched(order: Order, *, now: datetime) -> None:
    with translation.override(order.customer.language):
        caution = (
            _("This is a display piece. NOT FOR FLIGHT.")
            if order.display_only
            else _(
                "Fit it as the engine's and airframe's approved data say, and have it checked by your inspector "
                "or licensed mechanic. Check the bolt torque after the first flight and as the care sheet says."
            )
        )
        _write(
            "dispatched", order.customer, _("Order %(number)s is on its way") % {"number": order.number},
            _(
                "Sent with %(carrier)s, %(tracking)s. Build record and care sheet stand on your order's page:\n"
                "%(link)s\n\n%(caution)s"
            )
            % {
                "carrier": order.carrier or _("our carrier"),
                "tracking": order.tracking or _("no tracking number"),
                "link": order_link(order),
                "caution": caution,
            },
            now=now, about=order.token,
        )  # fmt: skip


def message_written(customer: Customer, body: str, link: str, *, now: datetime) -> None:
    with translation.override(customer.language):
        _write("message", customer, _("A message from the workshop"), f"{body}\n\n{link}", now=now)
