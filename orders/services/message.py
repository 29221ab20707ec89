"""Messages between customer and workshop, on an enquiry or an order; each tells the other side by mail."""

from datetime import datetime

from django.db import transaction

from orders.links import enquiry_link, order_link
from orders.models import Enquiry, Message, Order
from orders.refusal import Refused
from orders.services import letters
from orders.services.enquiry import sane
from orders.who import BENCH, BOOKKEEPER, OWNER, Who


@transaction.atomic
def write(
    who: Who, *, enquiry: Enquiry | None = None, order: Order | None = None, body: str, now: datetime
) -> Message:
    """Write one message on an enquiry or an order; whoever has a role in the workshop writes for it."""
    subject = order or enquiry
    if subject is None:
        raise Refused("nowhere", "A message belongs to an enquiry or an order.", status=400)
    body = sane(body, "body", "Write your message.")
    ours = bool(who.roles & {OWNER, BENCH, BOOKKEEPER})
    message = Message.objects.create(
        enquiry=enquiry,
        order=order,
        side=Message.Side.WORKSHOP if ours else Message.Side.CUSTOMER,
        user=who.user,
        name=who.name[:120],
        body=body,
        written_at=now,
    )
    if ours:
        link = order_link(order) if order else enquiry_link(enquiry)  # type: ignore[arg-type]
        letters.message_written(subject.customer, body, link, now=now)
    else:
        letters.alert_owner(f"A message on {subject}", f"{who.name} writes:\n\n{body}", now=now)
    return message


@transaction.atomic
def mark_read(who: Who, messages: list[Message], *, now: datetime) -> None:
    """Note when messages of the other side were first seen."""
    ours = bool(who.roles & {OWNER, BENCH, BOOKKEEPER})
    side = Message.Side.CUSTOMER if ours else Message.Side.WORKSHOP
    Message.objects.filter(pk__in=[m.pk for m in messages], side=side, read_at=None).update(read_at=now)
