"""The bench's pages: what can be done now, and one stage's card to start it or record it."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.build_forms import AgainForm, LeaveOutForm, form_of
from orders.desk.build_notes import notes
from orders.desk.day_sheet import own_day
from orders.desk.doing import at_field, do
from orders.desk.forms import OnPage, RecordForm, StartForm
from orders.desk.roles import open_to
from orders.models import BenchPerson, Order, Propeller, Stage
from orders.refusal import Refused
from orders.services import bench, redoing, release
from orders.services.accepted import build_figures
from orders.who import OWNER, somebody
from quoting.propeller.build import INSPECTION
from quoting.propeller.finding import Finding, Severity

AT_WORK = [Order.State.QUEUED, Order.State.ON_THE_BENCH, Order.State.READY]


def stages_at_hand() -> list[Stage]:
    """Started stages and, for each propeller in the queue or on the bench, the one stage that comes next."""
    rows = (
        Stage.objects.filter(
            propeller__order__state__in=AT_WORK,
            propeller__state__in=[Propeller.State.PLANNED, Propeller.State.IN_WORK, Propeller.State.RELEASED],
            state__in=[Stage.State.TO_DO, Stage.State.STARTED],
        )
        .select_related("propeller__order", "started_by")
        .prefetch_related("propeller__stages")
        .order_by("propeller__order__promise", "propeller__serial", "position")
    )
    first: dict[int, Stage] = {}
    for row in rows:
        first.setdefault(row.propeller_id, row)
    return list(first.values())


def own_entry(request: HttpRequest) -> BenchPerson | None:
    """Who at the bench is looking, if anybody."""
    return BenchPerson.objects.filter(user_id=request.user.pk).first() if request.user.pk else None


@open_to("bench")
def today(request: HttpRequest) -> HttpResponse:
    """What is under way and what can be started, most pressing promise first; one's own skills come first."""
    now = timezone.now()
    person = own_entry(request)
    at_hand = stages_at_hand()
    startable = [s for s in at_hand if s.state == Stage.State.TO_DO and bench.obstacle(s, now=now) is None]
    skills = person.skills if person else []
    startable.sort(key=lambda s: (not s.propeller.order.rush, s.skill not in skills))
    return render(
        request,
        "desk/bench.html",
        {
            "today": timezone.localdate(),
            "now": now,
            "person": person,
            "own_day": own_day(person, timezone.localdate()),
            "started": [s for s in at_hand if s.state == Stage.State.STARTED],
            "startable": startable,
            "skills": skills,
        },
    )


def the_stage(pk: int) -> Stage:
    rows = Stage.objects.select_related("propeller__order__quote", "started_by")
    return get_object_or_404(rows, pk=pk)


@open_to("bench")
def stage(request: HttpRequest, pk: int) -> HttpResponse:
    """One stage's card."""
    row = the_stage(pk)
    return stage_page(request, row, record_form(request, row) if is_recordable(row) else None)


def is_recordable(row: Stage) -> bool:
    return row.state == Stage.State.STARTED or (row.state == Stage.State.TO_DO and row.key == INSPECTION)


def record_form(request: HttpRequest, row: Stage, data: Any = None, files: Any = None) -> RecordForm:
    person = row.started_by or own_entry(request)
    # the balance worksheet sends its reading along
    initial = {"person": person, "unbalance": request.GET.get("unbalance", "")[:12]}
    form = RecordForm(data, files, wanted=bench.required(row), photo=row.key != INSPECTION, initial=initial)
    if bench.needs_mending(row):
        form.fields["note"].label = _("What was mended, or measured wrongly before")
    return form


def stage_page(
    request: HttpRequest,
    row: Stage,
    form: RecordForm | None,
    found: tuple[Finding, ...] = (),
    status: int = 200,
    redo: OnPage | None = None,
) -> HttpResponse:
    """The card; `redo` is a form of doing again or leaving out that was sent and comes back."""
    over = row.state in (Stage.State.DONE, Stage.State.LEFT_OUT)
    trouble = None if over else bench.obstacle(row, now=timezone.now())
    person = own_entry(request)
    owner = OWNER in somebody(request.user).roles
    may_reopen = redoing.may_reopen(row) and (owner or row.state != Stage.State.LEFT_OUT)
    context = {
        "stage": row,
        "order": row.propeller.order,
        "now": timezone.now(),
        "facts": facts(row),
        "blocked": trouble.message if trouble else "",
        "start": StartForm(initial={"person": person}) if trouble is None and row.key != INSPECTION else None,
        "form": form if trouble is None else None,
        "findings": found or standing_findings(row),
        "failed": release.failed_records(row.propeller) if row.key == INSPECTION else (),
        "records": row.records.select_related("person"),
        "again": form_of(AgainForm, redo, may_reopen),
        "spoiled": redoing.spoiled(row) if may_reopen else (),
        "leave_out": form_of(LeaveOutForm, redo, owner and redoing.may_leave_out(row)),
        "notes": notes(redoing.decisions_on_stage(row)),
    }
    return render(request, "desk/stage.html", context, status=status)


def standing_findings(row: Stage) -> tuple[Finding, ...]:
    """What stands against release at the inspection; at another stage what its latest record was outside of."""
    if row.key == INSPECTION:
        return release.findings_of(row.propeller)
    latest = release.latest_record(row) if row.state in (Stage.State.STARTED, Stage.State.DONE) else None
    return bench.findings_of_record(latest) if latest else ()


def sent_back(request: HttpRequest, pk: int, redo: OnPage) -> HttpResponse:
    """The card with a form of doing again or leaving out as it was sent."""
    row = the_stage(pk)
    form = record_form(request, row) if is_recordable(row) else None
    return stage_page(request, row, form, status=422, redo=redo)


def facts(row: Stage) -> list[tuple[str, str]]:
    """The figures the bench works to, in mm."""
    f = build_figures(row.propeller)
    named = [
        (_("Diameter"), f.diameter, "mm"),
        (_("Boss thickness"), f.boss_thickness, "mm"),
        (_("Centre bore"), f.bore, "mm"),
        (_("Bolt circle"), f.bolt_circle, "mm"),
        (_("Bolt holes"), f.bolts, ""),
        (_("Hole"), f.hole, "mm"),
        (_("Coats"), f.coats, ""),
    ]
    return [(name, f"{round(value, 2):g} {unit}".strip()) for name, value, unit in named if value is not None]


@require_POST
@open_to("bench")
def start(request: HttpRequest, pk: int) -> HttpResponse:
    """Begin a stage."""
    row = the_stage(pk)
    form = StartForm(request.POST)
    if not form.is_valid():
        messages.warning(request, _("Choose who begins the stage."))
        return redirect("desk:stage", pk)
    return do(
        request,
        lambda: bench.start_stage(
            somebody(request.user), row, form.cleaned_data["person"], now=timezone.now()
        ),
        _("Started."),
        "desk:stage",
        pk,
    )


@require_POST
@open_to("bench")
def record(request: HttpRequest, pk: int) -> HttpResponse:
    """Record a stage; what is out of limits is recorded and shown, and the stage stays open.

    The form then comes back with what was measured but without minutes: those are in the records already.
    """
    row = the_stage(pk)
    form = record_form(request, row, request.POST, request.FILES)
    if not form.is_valid():
        return stage_page(request, row, form, status=422)
    try:
        found = write(request, row, form)
    except Refused as refused:
        at_field(form, refused)
        return stage_page(request, row, form, status=422)
    row = the_stage(pk)
    if any(f.severity is Severity.STOP for f in found):
        messages.warning(request, _("Recorded, but not right yet: mend it and measure again."))
        again = record_form(request, row)
        again.initial = {**again.initial, "person": form.cleaned_data["person"], **form.measured()}
        return stage_page(request, row, again, found)
    messages.success(request, _("Recorded: %(stage)s.") % {"stage": row.label})
    for finding in found:
        messages.warning(request, _("Caution: %(finding)s") % {"finding": finding.message})
    return redirect("desk:bench")


def write(request: HttpRequest, row: Stage, form: RecordForm) -> tuple[Finding, ...]:
    """Hand the record to the service that keeps it: the inspection releases, every other stage is recorded."""
    given = form.cleaned_data
    who, now = somebody(request.user), timezone.now()
    if row.key == INSPECTION:
        return release.inspect_and_release(
            who,
            row.propeller,
            given["person"],
            minutes=given["minutes"],
            measurements=form.measured(),
            note=given["note"],
            now=now,
        )
    unfinished = bool(given.get("unfinished"))
    return bench.record_stage(
        who,
        row,
        given["person"],
        minutes=given["minutes"],
        measurements={} if unfinished else form.measured(),
        note=given["note"],
        photo=given.get("photo"),
        finished=not unfinished,
        now=now,
    ).findings
