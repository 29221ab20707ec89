"""The papers and drawings of an order: files the worker has made, and the button that has them made."""

from django.http import FileResponse, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.doing import do
from orders.desk.roles import open_to
from orders.models import Order
from orders.services import drawings
from orders.services.documents import papers_for
from orders.who import somebody


@open_to("bench", "bookkeeper")
def paper(request: HttpRequest, number: str, pk: int) -> HttpResponseBase:
    """One paper of this order, as far as it is for whoever asks."""
    order = get_object_or_404(Order, number=number)
    row = get_object_or_404(papers_for(somebody(request.user), order), pk=pk)
    return FileResponse(row.file.open("rb"), content_type=row.media_type, filename=row.file_name)


@require_POST
@open_to("bench")
def draw(request: HttpRequest, number: str) -> HttpResponse:
    """Have the worker draw what is not drawn yet."""
    order = get_object_or_404(Order.objects.select_related("quote__series"), number=number)
    return do(
        request,
        lambda: drawings.ask_again(order.quote, now=timezone.now()),
        _("The files are being made."),
        "desk:order",
        number,
    )
