"""Papers made by the worker: rows gathered into plain words and figures, printed by `quoting.documents`, filed once.

Imports the typesetter; only the worker and commands import this file.
"""

from typing import Any

from orders.models import Document, Invoice, Order
from orders.services import drawn_files, papers_of_build, papers_of_sale
from orders.services.documents import subject_of
from orders.services.filing import filed, keep
from quoting.documents.render import render
from quoting.models import Quote

K = Document.Kind


def make(payload: dict[str, Any]) -> None:
    """Job: make one paper and file it; a paper that is filed already is left as it is."""
    kind = payload["kind"]
    order = Order.objects.filter(pk=payload.get("order", 0)).first()
    quote = Quote.objects.filter(pk=payload.get("quote", 0)).first()
    invoice = Invoice.objects.filter(pk=payload.get("invoice", 0)).first()
    if kind == K.QUOTE and quote:
        file_paper(kind, quote.reference, papers_of_sale.quote_paper(quote), quote=quote)
        drawn_files.draw(quote, K.DRAWING)
    elif kind == K.INVOICE and invoice:
        file_paper(
            kind, invoice.number, papers_of_sale.invoice_paper(invoice), invoice=invoice, order=invoice.order
        )
    elif order:
        chosen = order.propellers.exclude(serial=None)
        if payload.get("propeller"):
            chosen = chosen.filter(pk=payload["propeller"])
        for propeller in chosen:
            file_paper(
                kind, subject_of(kind, propeller), PAPERS[kind](propeller), order=order, propeller=propeller
            )


PAPERS = {
    K.BUILD_CARD: papers_of_build.build_card,
    K.BUILD_RECORD: papers_of_build.build_record,
    K.CARE_SHEET: papers_of_build.care_sheet,
    K.PACKING_LIST: papers_of_build.packing_list,
}


def file_paper(kind: str, subject: str, data: dict[str, Any], **belongs: Any) -> Document:
    """Print and file a paper; one paper per subject, whoever prints first."""
    return filed(kind, subject) or keep(kind, subject, render(kind, data), **belongs)
