"""Papers asked for with the change they belong to; a worker makes them (documents.py holds the heavy part)."""

from datetime import datetime

from orders.models import Invoice, Order, OutboxJob, Propeller
from orders.services import outbox
from quoting.models import Quote


def ask_for(
    kind: str,
    order: Order | None = None,
    *,
    now: datetime,
    quote: Quote | None = None,
    invoice: Invoice | None = None,
    propeller: Propeller | None = None,
) -> OutboxJob:
    """Have one paper made; assumes the caller's transaction. The payload names rows, the worker reads them."""
    rows = {"order": order, "quote": quote, "invoice": invoice, "propeller": propeller}
    payload = {name: row.pk for name, row in rows.items() if row is not None}
    return outbox.enqueue("make-paper", {"kind": kind, **payload}, now=now)
