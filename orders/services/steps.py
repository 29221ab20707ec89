"""The steps an order may take, and the one function that takes them."""

from datetime import datetime
from typing import Any

from orders.models import Order
from orders.refusal import Refused
from orders.services import audit, outbox
from orders.who import Who

S = Order.State
STEPS: dict[str, frozenset[str]] = {
    S.WAITING: frozenset({S.QUEUED, S.HELD, S.CANCELLED}),
    S.QUEUED: frozenset({S.ON_THE_BENCH, S.HELD, S.CANCELLED}),
    S.ON_THE_BENCH: frozenset({S.READY, S.HELD, S.CANCELLED}),
    S.HELD: frozenset({S.WAITING, S.QUEUED, S.ON_THE_BENCH, S.CANCELLED}),
    S.READY: frozenset({S.DISPATCHED, S.ON_THE_BENCH, S.CANCELLED}),
    S.DISPATCHED: frozenset(),
    S.CANCELLED: frozenset(),
}
"""From each state, the states an order may move to; a ready order goes back to the bench when a fault is found."""


def move_order(
    who: Who, order: Order, to: str, *, now: datetime, verb: str, reason: str = "", **changes: Any
) -> None:
    """Move an order one step by a conditional update and tell the plan; assumes the caller's transaction.

    Raises Refused when the step is not in the table or somebody else has moved the order since it was read.
    """
    before = order.state
    if to not in STEPS[before]:
        raise Refused("wrong-state", f"Order {order.number} is {before}; it cannot become {to}.")
    moved = Order.objects.filter(pk=order.pk, state=before).update(state=to, **changes)
    if moved != 1:
        raise Refused("moved-meanwhile", f"Order {order.number} was changed meanwhile; look again.")
    order.refresh_from_db()
    audit.record(who, verb, f"order {order.number}", now=now, before=before, after=to, reason=reason)
    outbox.enqueue("replan", {"reason": f"order {order.number}: {verb}"}, now=now, debounce="replan")


def locked(order: Order) -> Order:
    """The order's row, locked for this transaction (on SQLite the IMMEDIATE transaction is the lock)."""
    return Order.objects.select_for_update().get(pk=order.pk)
