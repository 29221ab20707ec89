"""The shop at the desk: opening hours, holidays and closures; machines and racks; stages and their order."""

from datetime import date, timedelta

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from orders.desk.doing import do, submitted
from orders.desk.roles import open_to
from orders.desk.shop_forms import ClosureForm, MachineForm, OpeningForm, RackForm, SpellForm, StageForm
from orders.models import Closure, Machine, Rack, StageType, Workshop
from orders.services import equipment, hours, stages
from orders.services.shop import holidays_of, typical_route
from orders.services.shop_check import troubles, troubles_of
from orders.who import somebody

HOLIDAYS_SHOWN = timedelta(days=366)


def the_workshop() -> Workshop:
    return get_object_or_404(Workshop)


@open_to()
def shop(request: HttpRequest) -> HttpResponse:
    """Opening hours, holidays and closures."""
    return shop_page(request)


def shop_page(
    request: HttpRequest, form: OpeningForm | None = None, closure: ClosureForm | None = None
) -> HttpResponse:
    workshop, today = the_workshop(), timezone.localdate()
    public = holidays_of(workshop, range(today.year, today.year + 2))
    context = {
        "form": form or OpeningForm(workshop=workshop),
        "closure": closure or ClosureForm(),
        "closures": Closure.objects.filter(last_day__gte=today),
        "holidays": sorted((d, n) for d, n in public.items() if today <= d < today + HOLIDAYS_SHOWN),
        "troubles": troubles(timezone.now()),
        "now": timezone.now(),
    }
    wrong = bool((form and form.errors) or (closure and closure.errors))
    return render(request, "desk/shop.html", context, status=422 if wrong else 200)


@require_POST
@open_to()
def change_hours(request: HttpRequest) -> HttpResponse:
    """Change opening hours, zone and holidays."""
    form = OpeningForm(request.POST, workshop=the_workshop())
    return submitted(
        request,
        form,
        lambda given: hours.change_hours(
            somebody(request.user),
            opening=form.week(),
            timezone=given["timezone"],
            country=given["holidays_country"],
            subdivision=given["holidays_subdivision"],
            now=timezone.now(),
        ),
        _("Changed; the plan is being made anew."),
        lambda wrong: shop_page(request, form=wrong),
        "desk:shop",
    )


@require_POST
@open_to()
def close(request: HttpRequest) -> HttpResponse:
    """Close the shop for some days."""
    return submitted(
        request,
        ClosureForm(request.POST),
        lambda given: hours.close(somebody(request.user), **given, now=timezone.now()),
        _("Closed on these days; the plan is being made anew."),
        lambda wrong: shop_page(request, closure=wrong),
        "desk:shop",
    )


@require_POST
@open_to()
def open_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Strike a closure out."""
    row = get_object_or_404(Closure, pk=pk)
    return do(
        request,
        lambda: hours.open_again(somebody(request.user), row, now=timezone.now()),
        _("Open on these days; the plan is being made anew."),
        "desk:shop",
    )


@open_to()
def machines(request: HttpRequest) -> HttpResponse:
    """Machines and racks."""
    return machines_page(request)


def machines_page(
    request: HttpRequest,
    *,
    machine: MachineForm | None = None,
    rack: RackForm | None = None,
    spell: SpellForm | None = None,
    key: str = "",
) -> HttpResponse:
    """Every machine and rack with its forms; a form given back stands at the one named `key`, or at the new one."""
    today = timezone.localdate()

    def own(form: MachineForm | RackForm | SpellForm | None, row_key: str) -> bool:
        return form is not None and key == row_key

    context = {
        "machines": [
            (
                row,
                machine if own(machine, row.key) else MachineForm(machine=row, auto_id=f"{row.key}-%s"),
                spell if own(spell, row.key) else SpellForm(auto_id=f"{row.key}-out-%s"),
                equipment.spells_out(row, today),
            )
            for row in Machine.objects.all()
        ],
        "racks": [
            (row, rack if own(rack, row.key) else RackForm(rack=row, auto_id=f"rack-{row.key}-%s"))
            for row in Rack.objects.all()
        ],
        "new_machine": machine if own(machine, "") else MachineForm(auto_id="new-machine-%s"),
        "new_rack": rack if own(rack, "") else RackForm(auto_id="new-rack-%s"),
        "troubles": troubles_of("machines", timezone.now()) + troubles_of("racks", timezone.now()),
        "open_key": key,
        "now": timezone.now(),
    }
    wrong = any(form is not None and form.errors for form in (machine, rack, spell))
    return render(request, "desk/machines.html", context, status=422 if wrong else 200)


@require_POST
@open_to()
def machine(request: HttpRequest, key: str = "") -> HttpResponse:
    """Add a machine, or change one."""
    row = get_object_or_404(Machine, key=key) if key else None
    who, now = somebody(request.user), timezone.now()
    return submitted(
        request,
        MachineForm(request.POST, auto_id=f"{key or 'new-machine'}-%s"),
        lambda given: (
            equipment.change_machine(who, row, **given, now=now)
            if row
            else equipment.add_machine(who, **given, now=now)
        ),
        _("Kept; the plan is being made anew."),
        lambda wrong: machines_page(request, machine=wrong, key=key),
        "desk:machines",
    )


@require_POST
@open_to()
def rack(request: HttpRequest, key: str = "") -> HttpResponse:
    """Add a rack, or change one."""
    row = get_object_or_404(Rack, key=key) if key else None
    who, now = somebody(request.user), timezone.now()
    return submitted(
        request,
        RackForm(request.POST, auto_id=f"rack-{key or 'new'}-%s"),
        lambda given: (
            equipment.change_rack(who, row, **given, now=now)
            if row
            else equipment.add_rack(who, **given, now=now)
        ),
        _("Kept; the plan is being made anew."),
        lambda wrong: machines_page(request, rack=wrong, key=key),
        "desk:machines",
    )


@require_POST
@open_to()
def out_of_use(request: HttpRequest, key: str) -> HttpResponse:
    """Write down days a machine stands still."""
    row = get_object_or_404(Machine, key=key)
    return submitted(
        request,
        SpellForm(request.POST, auto_id=f"{key}-out-%s"),
        lambda given: equipment.out_of_use(somebody(request.user), row, **given, now=timezone.now()),
        _("Written down; the plan is being made anew."),
        lambda wrong: machines_page(request, spell=wrong, key=key),
        "desk:machines",
    )


@require_POST
@open_to()
def in_use(request: HttpRequest, key: str, first: str, last: str) -> HttpResponse:
    """Strike out days a machine was to stand still."""
    row = get_object_or_404(Machine, key=key)
    try:
        first_day, last_day = date.fromisoformat(first), date.fromisoformat(last)
    except ValueError:
        raise Http404 from None
    return do(
        request,
        lambda: equipment.in_use(
            somebody(request.user), row, first_day=first_day, last_day=last_day, now=timezone.now()
        ),
        _("In use on these days; the plan is being made anew."),
        "desk:machines",
    )


@require_POST
@open_to()
def take_away(request: HttpRequest, kind: str, key: str) -> HttpResponse:
    """Take a machine or a rack out of the shop."""
    row = get_object_or_404(Machine, key=key) if kind == "machine" else get_object_or_404(Rack, key=key)
    return do(
        request,
        lambda: equipment.remove(somebody(request.user), row, now=timezone.now()),
        _("Taken away; the plan is being made anew."),
        "desk:machines",
    )


@open_to()
def all_stages(request: HttpRequest) -> HttpResponse:
    """The stages in the order the shop does them, with the last order's work and waits beside them."""
    return stages_page(request)


def stages_page(request: HttpRequest, form: StageForm | None = None, key: str = "") -> HttpResponse:
    usual = {task.stage: task for task in typical_route()}
    wrong = {t.key: t for t in troubles_of("stages", timezone.now())}
    rows = [
        (
            row,
            usual.get(row.key),
            form if form is not None and key == row.key else StageForm(stage=row, auto_id=f"{row.key}-%s"),
            wrong.get(row.key),
        )
        for row in StageType.objects.select_related("machine", "rack")
    ]
    context = {"rows": rows, "troubles": list(wrong.values()), "open_key": key, "now": timezone.now()}
    return render(request, "desk/stages.html", context, status=422 if form and form.errors else 200)


@require_POST
@open_to()
def change_stage(request: HttpRequest, key: str) -> HttpResponse:
    """Change what a stage asks for."""
    row = get_object_or_404(StageType, key=key)
    return submitted(
        request,
        StageForm(request.POST, stage=row, auto_id=f"{key}-%s"),
        lambda given: stages.change(somebody(request.user), row, **given, now=timezone.now()),
        _("Changed; the plan is being made anew."),
        lambda wrong: stages_page(request, wrong, key),
        "desk:stages",
    )


@require_POST
@open_to()
def move_stage(request: HttpRequest, key: str, way: str) -> HttpResponse:
    """Do a stage one place earlier or later."""
    row = get_object_or_404(StageType, key=key)
    return do(
        request,
        lambda: stages.move(somebody(request.user), row, earlier=way == "earlier", now=timezone.now()),
        _("Moved, from the next build on; the plan is being made anew."),
        "desk:stages",
    )
