"""What going first costs the others: asked for at the review, computed by the worker, shown as a suggested surcharge."""

from datetime import datetime

from django.db import transaction

from orders.models import Enquiry, RushCost
from orders.refusal import Refused
from orders.services import outbox
from orders.who import OWNER, Who


@transaction.atomic
def ask_for(who: Who, enquiry: Enquiry, *, now: datetime) -> RushCost:
    """Have the worker compare the queue with and without this propeller going first; one question at a time."""
    who.must_be(OWNER)
    enquiry = Enquiry.objects.select_for_update().get(pk=enquiry.pk)
    if RushCost.objects.filter(enquiry=enquiry, state=RushCost.State.ASKED).exists():
        raise Refused("under-way", "It is being worked out; look again in a moment.")
    row = RushCost.objects.create(enquiry=enquiry, asked_at=now)
    outbox.enqueue("rush-cost", {"rush_cost": row.pk}, now=now)
    return row


def latest(enquiry: Enquiry) -> RushCost | None:
    return RushCost.objects.filter(enquiry=enquiry).first()
