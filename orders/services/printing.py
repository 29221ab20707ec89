"""Papers made by the worker: rows gathered into plain words and figures, printed by `quoting.documents`, filed once.

Imports the typesetter; only the worker and commands import this file.
"""

import hashlib
from typing import Any

from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction
from django.utils import timezone

from orders.models import Document, Invoice, Order, Propeller
from orders.services import papers_of_build, papers_of_sale
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
                kind, _subject(kind, propeller), PAPERS[kind](propeller), order=order, propeller=propeller
            )


PAPERS = {
    K.BUILD_CARD: papers_of_build.build_card,
    K.BUILD_RECORD: papers_of_build.build_record,
    K.CARE_SHEET: papers_of_build.care_sheet,
    K.PACKING_LIST: papers_of_build.packing_list,
}


def _subject(kind: str, propeller: Propeller) -> str:
    """A record made again after the propeller was taken back is another paper."""
    if kind == K.BUILD_RECORD and propeller.released_at:
        return f"{propeller.serial} {propeller.released_at:%Y-%m-%d %H:%M:%S}"
    return str(propeller.serial)


def file_paper(kind: str, subject: str, data: dict[str, Any], **belongs: Any) -> Document:
    """Print and file a paper; one paper per subject, whoever prints first."""
    filed = Document.objects.filter(kind=kind, subject=subject).first()
    if filed:
        return filed
    content = render(kind, data)
    document = Document(
        kind=kind,
        subject=subject,
        sha256=hashlib.sha256(content).hexdigest(),
        made_at=timezone.now(),
        **belongs,
    )
    name = "".join(c if c.isalnum() else "-" for c in f"{kind}-{subject}")
    document.file.save(f"{name}.pdf", ContentFile(content), save=False)
    try:
        with transaction.atomic():
            document.save()
    except IntegrityError:
        document.file.delete(save=False)
        return Document.objects.get(kind=kind, subject=subject)
    return document
