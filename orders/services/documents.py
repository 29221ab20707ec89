"""Papers asked for with the change they belong to, and those filed; a worker prints them (printing.py, the heavy part)."""

from datetime import datetime

from django.db.models import Q, QuerySet

from orders.models import Document, Invoice, Order, OutboxJob, Propeller
from orders.services import outbox
from orders.who import BENCH, BOOKKEEPER, OWNER, THE_SERVICE, Who
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


def papers_for(who: Who, order: Order) -> QuerySet[Document]:
    """The papers of an order, its quote's among them, oldest first: the bench has those it builds by, none of the sale."""
    papers = Document.objects.filter(Q(order=order) | Q(quote=order.quote_id)).order_by("made_at", "id")
    if who.roles & {OWNER, BOOKKEEPER}:
        return papers
    return papers.exclude(kind__in=Document.OF_THE_SALE) if BENCH in who.roles else papers.none()


def papers_for_customer(order: Order) -> QuerySet[Document]:
    """The papers of an order that its customer may have: all but those that guide the hand at the bench."""
    return papers_for(THE_SERVICE, order).exclude(kind__in=Document.WORKSHOP_ONLY)
