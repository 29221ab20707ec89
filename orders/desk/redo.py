"""From a stage's page: do it again, leave it out, look at a photograph of it."""

from django.core.files.storage import default_storage
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.bench import sent_back, the_stage
from orders.desk.build_forms import AgainForm, LeaveOutForm
from orders.desk.doing import submitted
from orders.desk.roles import open_to
from orders.models import StageRecord
from orders.services import redoing
from orders.who import somebody


@require_POST
@open_to("bench")
def again(request: HttpRequest, pk: int) -> HttpResponse:
    """Open a stage again, with what it spoiled."""
    row = the_stage(pk)
    return submitted(
        request,
        AgainForm(request.POST),
        lambda given: redoing.do_again(
            somebody(request.user), row, reason=given["reason"], now=timezone.now()
        ),
        _("The stage is open again; what was recorded stays in the record."),
        lambda form: sent_back(request, pk, form),
        "desk:stage",
        pk,
    )


@require_POST
@open_to()
def leave_out(request: HttpRequest, pk: int) -> HttpResponse:
    """Leave a stage out."""
    row = the_stage(pk)
    return submitted(
        request,
        LeaveOutForm(request.POST),
        lambda given: redoing.leave_out(
            somebody(request.user), row, reason=given["reason"], now=timezone.now()
        ),
        _("The stage is left out."),
        lambda form: sent_back(request, pk, form),
        "desk:stage",
        pk,
    )


@open_to("bench", "bookkeeper")
def photo(request: HttpRequest, pk: int, record: int) -> FileResponse:
    """The photograph of one record."""
    row = get_object_or_404(StageRecord, pk=record, stage=pk)
    name = row.photo.name
    if not name or not default_storage.exists(name):
        raise Http404
    return FileResponse(default_storage.open(name), content_type="image/jpeg")
