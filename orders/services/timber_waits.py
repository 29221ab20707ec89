"""An order waits on timber, and the timber comes: the plan counts with the wait and learns how long such waits are."""

from datetime import datetime

from django.db import transaction

from orders.models import Order, Stage, TimberWait
from orders.refusal import Refused
from orders.services import audit, outbox
from orders.services.steps import locked
from orders.who import BENCH, OWNER, Who

BEGUN = (Stage.State.STARTED, Stage.State.DONE)


@transaction.atomic
def await_timber(who: Who, order: Order, *, remark: str = "", now: datetime) -> TimberWait:
    """The order's timber is not on the shelf. Raises Refused once wood is in work, or when it waits already."""
    who.must_be(OWNER)
    order = locked(order)
    if not order.is_open:
        raise Refused("wrong-state", f"Order {order.number} is {order.state}.")
    if Stage.objects.filter(propeller__order=order, state__in=BEGUN).exists():
        raise Refused("begun", f"Wood for {order.number} is in work already.")
    if order.timber_waits.filter(until=None).exists():
        raise Refused("waits", f"{order.number} waits on timber already.")
    made = TimberWait.objects.create(order=order, since=now, remark=remark.strip()[:160])
    _tell(who, order, "waits on timber", now=now)
    return made


@transaction.atomic
def timber_came(who: Who, order: Order, *, now: datetime) -> None:
    """The timber is here. Raises Refused when the order did not wait on any."""
    who.must_be(BENCH, OWNER)
    order = locked(order)
    if order.timber_waits.filter(until=None).update(until=now) != 1:
        raise Refused("no-wait", f"{order.number} does not wait on timber.")
    _tell(who, order, "timber is here", now=now)


def open_wait(order: Order) -> TimberWait | None:
    return order.timber_waits.filter(until=None).first()


def _tell(who: Who, order: Order, verb: str, *, now: datetime) -> None:
    audit.record(who, verb, f"order {order.number}", now=now)
    outbox.enqueue("replan", {"reason": f"order {order.number}: {verb}"}, now=now, debounce="replan")
