"""Papers asked for with the change they belong to, and those filed; a worker prints them (printing.py, the heavy part)."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
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


@dataclass(frozen=True, slots=True)
class Outstanding:
    """A paper that belongs to an order as it stands and is not filed yet; `job` makes it, if one is at it."""

    kind: str
    invoice: Invoice | None
    propeller: Propeller | None
    job: OutboxJob | None


def outstanding(order: Order) -> list[Outstanding]:
    """Papers of a customer's order that are not filed: its invoices, the record of what is released, the care sheet."""
    jobs = list(
        OutboxJob.objects.filter(
            kind="make-paper",
            state__in=[OutboxJob.State.WAITING, OutboxJob.State.RUNNING],
            payload__order=order.pk,
        ).order_by("id")
    )

    def job_of(kind: str, row: Invoice | Propeller) -> OutboxJob | None:
        name = "invoice" if isinstance(row, Invoice) else "propeller"
        return next((j for j in jobs if j.payload["kind"] == kind and j.payload.get(name) == row.pk), None)

    found = []
    for kind, row in _belonging(order):
        invoice = row if isinstance(row, Invoice) else None
        propeller = row if isinstance(row, Propeller) else None
        subject = row.number if isinstance(row, Invoice) else subject_of(kind, row)
        if not Document.objects.filter(kind=kind, subject=subject).exists():
            found.append(Outstanding(kind, invoice, propeller, job_of(kind, row)))
    return found


def _belonging(order: Order) -> Iterator[tuple[str, Invoice | Propeller]]:
    K, P = Document.Kind, Propeller.State
    for invoice in order.invoices.order_by("id"):
        yield K.INVOICE, invoice
    for propeller in order.propellers.filter(state__in=[P.RELEASED, P.DISPATCHED, P.RETIRED]):
        yield K.BUILD_RECORD, propeller
        if propeller.state != P.RELEASED:
            yield K.CARE_SHEET, propeller


def subject_of(kind: str, propeller: Propeller) -> str:
    """What a propeller's paper is filed under; made again after it was taken back, record and packing list are others."""
    again = (Document.Kind.BUILD_RECORD, Document.Kind.PACKING_LIST)
    if kind in again and propeller.released_at:
        return f"{propeller.serial} {propeller.released_at:%Y-%m-%d %H:%M:%S}"
    return str(propeller.serial)


@transaction.atomic
def ask_for_outstanding(order: Order, *, now: datetime) -> int:
    """Have the papers made that belong to an order and are neither filed nor being made; how many were asked for."""
    order = Order.objects.select_for_update().get(pk=order.pk)
    wanted = [paper for paper in outstanding(order) if paper.job is None]
    for paper in wanted:
        ask_for(paper.kind, order, invoice=paper.invoice, propeller=paper.propeller, now=now)
    return len(wanted)
