"""The papers of an order: PDF files the worker has made."""

from django.http import FileResponse, HttpRequest
from django.http.response import HttpResponseBase

from orders.access import row_for
from orders.desk.roles import open_to
from orders.models import Document


@open_to("bench", "bookkeeper")
def paper(request: HttpRequest, number: str, pk: int) -> HttpResponseBase:
    """One paper of one order, its quote's among them."""
    row = row_for(request.user, Document, pk=pk)
    return FileResponse(
        row.file.open("rb"), content_type="application/pdf", filename=f"{row.kind}-{row.subject}.pdf"
    )
