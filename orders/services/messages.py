"""Messages between the customer and the workshop, on an enquiry or an order; the other side is told by mail."""

from datetime import datetime

from django.db import transaction
from django.db.models import Q, QuerySet

from orders.links import enquiry_link, order_link
from orders.models import Enquiry, Message, Order
from orders.services import letters
from orders.services.enquiry import sane
from orders.who import BENCH, BOOKKEEPER, OWNER, Who


@transaction.atomic
def write_to_workshop(who: Who, about: Enquiry | Order, *, body: str, now: datetime) -> Message:
    """The customer writes; raises Refused at the body when it is empty or too long."""
    body = sane(body, "body", "Write something first.")
    message = _write(who, about, Message.Side.CUSTOMER, body, now=now)
    letters.alert_owner(f"Message on {_named(about)}", f"{who.name}:\n\n{body}", now=now, about=about)
    return message


@transaction.atomic
def write_to_customer(who: Who, about: Enquiry | Order, *, body: str, now: datetime) -> Message:
    """The workshop writes; the customer gets it by mail with the link."""
    who.must_be(OWNER, BENCH, BOOKKEEPER)
    body = sane(body, "body", "Write something first.")
    message = _write(who, about, Message.Side.WORKSHOP, body, now=now)
    link = order_link(about) if isinstance(about, Order) else enquiry_link(about)
    letters.message_written(about.customer, body, link, now=now)
    return message


def talk_about(about: Enquiry | Order) -> QuerySet[Message]:
    """The whole conversation of a job, before and after it became an order, oldest first."""
    if isinstance(about, Order):
        return Message.objects.filter(Q(order=about) | Q(enquiry=about.enquiry_id, enquiry__isnull=False))
    return Message.objects.filter(Q(enquiry=about) | Q(order__enquiry=about))


def _named(about: Enquiry | Order) -> str:
    return f"{'order' if isinstance(about, Order) else 'enquiry'} {about.number}"


def _write(who: Who, about: Enquiry | Order, side: str, body: str, *, now: datetime) -> Message:
    row = {"order": about} if isinstance(about, Order) else {"enquiry": about}
    return Message.objects.create(
        side=side, user=who.user, name=who.name[:120], body=body, written_at=now, **row
    )
