"""Decisions on the plan at the desk: a stage's page and an order's page, and the posts that keys and forms send."""

from datetime import date
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from orders.desk.doing import do, submitted
from orders.desk.forms import DayField
from orders.desk.order_forms import HoldForm
from orders.desk.roles import open_to
from orders.models import BenchPerson, Order, Stage
from orders.services import decisions, timber_waits
from orders.services.planned import TO_COME, Reading, reading
from orders.who import somebody
from quoting.services.written import whole_of


class FixForm(forms.Form):
    """Who does a stage, and not before which day; both may be left open."""

    person = forms.ModelChoiceField(
        label=gettext_lazy("Who"),
        queryset=BenchPerson.objects.none(),
        required=False,
        to_field_name="key",
        empty_label=gettext_lazy("whoever the plan chooses"),
    )
    day = DayField(label=gettext_lazy("Not before (may be empty)"), required=False)

    def __init__(self, *args: Any, stage: Stage, **more: Any) -> None:
        more["initial"] = {
            "person": stage.locked_person.key if stage.locked_person else None,
            "day": timezone.localdate(stage.not_before) if stage.not_before else None,
        }
        super().__init__(*args, **more)
        able = [p.pk for p in BenchPerson.objects.filter(active=True) if stage.skill in p.skills]
        chosen = self.fields["person"]
        assert isinstance(chosen, forms.ModelChoiceField)
        chosen.queryset = BenchPerson.objects.filter(pk__in=able)
        chosen.error_messages["invalid_choice"] = _("Only somebody who does %(skill)s can be chosen.") % {
            "skill": stage.skill
        }


class BeforeForm(forms.Form):
    """Before which order."""

    before = forms.ModelChoiceField(
        label=gettext_lazy("Just before"),
        queryset=Order.objects.none(),
        to_field_name="number",
        empty_label=None,
    )

    def __init__(self, *args: Any, order: Order, turn: list[Order], **more: Any) -> None:
        super().__init__(*args, **more)
        chosen = self.fields["before"]
        assert isinstance(chosen, forms.ModelChoiceField)
        chosen.queryset = Order.objects.filter(pk__in=[o.pk for o in turn if o.pk != order.pk])
        chosen.choices = [
            (o.number, f"{n}. {o.number}, {o.customer.name}")
            for n, o in enumerate(turn, 1)
            if o.pk != order.pk
        ]


def stages_joined() -> QuerySet[Stage]:
    return Stage.objects.select_related("propeller__order__customer", "locked_person", "started_by")


def the_stage(pk: int) -> Stage:
    return get_object_or_404(stages_joined(), pk=pk)


def the_order(number: str) -> Order:
    return get_object_or_404(Order.objects.select_related("customer"), number=number)


@open_to()
def stage(request: HttpRequest, pk: int) -> HttpResponse:
    """One stage in the plan: when and by whom, and the form to fix it."""
    return stage_page(request, the_stage(pk))


def stage_page(request: HttpRequest, row: Stage, form: FixForm | None = None) -> HttpResponse:
    read = reading()
    context = {
        "stage": row,
        "order": row.propeller.order,
        "planned": read.begin_of(row) if read else None,
        "names": dict(BenchPerson.objects.values_list("key", "name")),
        "form": form or FixForm(stage=row),
        "later_than_fixed": later_than_fixed(row, read),
        "to_come": row.state == Stage.State.TO_DO,
        "now": timezone.now(),
    }
    return render(request, "desk/plan_stage.html", context, status=422 if form and form.errors else 200)


def later_than_fixed(row: Stage, read: Reading | None) -> bool:
    """Whether the plan begins a stage on a later day than the one it is fixed to."""
    found = read.begin_of(row) if read else None
    return bool(
        found and row.not_before and timezone.localdate(found[0]) > timezone.localdate(row.not_before)
    )


@require_POST
@open_to()
def fix(request: HttpRequest, pk: int) -> HttpResponse:
    """Fix a stage to a person, a day, or both; with neither it is free again."""
    row = the_stage(pk)
    return submitted(
        request,
        FixForm(request.POST, stage=row),
        lambda given: decisions.fix(somebody(request.user), row, **given, now=timezone.now()),
        _("Kept; the plan is being made anew."),
        lambda wrong: stage_page(request, row, wrong),
        "desk:plan-stage",
        pk,
    )


@require_POST
@open_to()
def by_key(request: HttpRequest) -> HttpResponse:
    """What a key on the wall calendar asks for; back to the calendar with what came of it."""
    row = stages_joined().filter(pk=whole_of(request.POST.get("stage", "")) or 0).first()
    if row is None:
        messages.warning(request, _("This work is not there any more."))
        return redirect(sheet_of(request))
    order, who, now = row.propeller.order, somebody(request.user), timezone.now()
    person = BenchPerson.objects.filter(key=request.POST.get("person", "")).first()
    actions = {
        "fix": lambda: decisions.fix(
            who, row, person=person or row.locked_person, day=day_of(request) or day_fixed(row), now=now
        ),
        "free": lambda: decisions.fix(who, row, now=now),
        "sooner": lambda: decisions.move(who, order, sooner=True, now=now),
        "later": lambda: decisions.move(who, order, sooner=False, now=now),
    }
    action = actions.get(request.POST.get("do", ""))
    if action is None:
        return redirect(sheet_of(request))
    return do(request, action, _("Kept; the plan is being made anew."), sheet_of(request))


def day_fixed(row: Stage) -> date | None:
    """The day a stage is fixed to, unless it has passed."""
    day = timezone.localdate(row.not_before) if row.not_before else None
    return day if day and day >= timezone.localdate() else None


def day_of(request: HttpRequest) -> date | None:
    try:
        return date.fromisoformat(request.POST.get("day", ""))
    except ValueError:
        return None


def sheet_of(request: HttpRequest) -> str:
    """The sheet the key was pressed on: the plan from the same day on."""
    try:
        first = date.fromisoformat(request.POST.get("from", ""))
    except ValueError:
        return reverse("desk:plan")
    return f"{reverse('desk:plan')}?from={first.isoformat()}"


@open_to()
def order(request: HttpRequest, number: str) -> HttpResponse:
    """One order in the plan: its turn, its hold, its stages to come."""
    return order_page(request, the_order(number))


def order_page(
    request: HttpRequest, row: Order, before: BeforeForm | None = None, hold_form: HoldForm | None = None
) -> HttpResponse:
    turn = decisions.turn()
    read = reading()
    stages = (
        Stage.objects.filter(propeller__order=row, state__in=TO_COME)
        .select_related("propeller__order", "locked_person")
        .order_by("propeller__position", "position")
    )
    place = next((n for n, o in enumerate(turn, 1) if o.pk == row.pk), None)
    context = {
        "order": row,
        "place": place,
        "of": len(turn),
        "before": before or (BeforeForm(order=row, turn=turn) if place and len(turn) > 1 else None),
        "hold": hold_form or HoldForm(),
        "timber": timber_waits.open_wait(row),
        "wood_begun": any(s.state == Stage.State.STARTED for s in stages)
        or Stage.objects.filter(propeller__order=row, state=Stage.State.DONE).exists(),
        "stages": [(s, read.begin_of(s) if read else None) for s in stages],
        "names": dict(BenchPerson.objects.values_list("key", "name")),
        "now": timezone.now(),
    }
    wrong = any(form is not None and form.errors for form in (before, hold_form))
    return render(request, "desk/plan_order.html", context, status=422 if wrong else 200)


@require_POST
@open_to()
def place_before(request: HttpRequest, number: str) -> HttpResponse:
    """Take an order just before another."""
    row = the_order(number)
    return submitted(
        request,
        BeforeForm(request.POST, order=row, turn=decisions.turn()),
        lambda given: decisions.place_before(
            somebody(request.user), row, given["before"], now=timezone.now()
        ),
        _("Kept; the plan is being made anew."),
        lambda wrong: order_page(request, row, before=wrong),
        "desk:plan-order",
        number,
    )


@require_POST
@open_to()
def move(request: HttpRequest, number: str, way: str) -> HttpResponse:
    """One place sooner or later, or by the promise again."""
    row, who, now = the_order(number), somebody(request.user), timezone.now()
    actions = {
        "sooner": lambda: decisions.move(who, row, sooner=True, now=now),
        "later": lambda: decisions.move(who, row, sooner=False, now=now),
        "by-promise": lambda: decisions.by_promise(who, row, now=now),
    }
    said = _("Kept; the plan is being made anew.")
    return do(request, actions.get(way, actions["by-promise"]), said, "desk:plan-order", number)


@require_POST
@open_to()
def hold(request: HttpRequest, number: str) -> HttpResponse:
    """Hold an order."""
    row = the_order(number)
    return submitted(
        request,
        HoldForm(request.POST),
        lambda given: decisions.hold(somebody(request.user), row, **given, now=timezone.now()),
        _("Held; the plan is being made anew."),
        lambda wrong: order_page(request, row, hold_form=wrong),
        "desk:plan-order",
        number,
    )


@require_POST
@open_to()
def take_up(request: HttpRequest, number: str) -> HttpResponse:
    """Take an order up again."""
    row = the_order(number)
    return do(
        request,
        lambda: decisions.take_up(somebody(request.user), row, now=timezone.now()),
        _("Taken up; the plan is being made anew."),
        "desk:plan-order",
        number,
    )


@require_POST
@open_to()
def all_by_promise(request: HttpRequest) -> HttpResponse:
    """Forget all ranks."""
    return do(
        request,
        lambda: decisions.all_by_promise(somebody(request.user), now=timezone.now()),
        _("All orders go by their promises; the plan is being made anew."),
        "desk:plan",
    )


@require_POST
@open_to()
def undo(request: HttpRequest) -> HttpResponse:
    """Take the last decision back."""
    return do(
        request,
        lambda: decisions.undo(somebody(request.user), now=timezone.now()),
        _("Undone; the plan is being made anew."),
        sheet_of(request),
    )


@require_POST
@open_to()
def timber(request: HttpRequest, number: str, word: str) -> HttpResponse:
    """The order waits on timber, or the timber is here."""
    row, who, now = the_order(number), somebody(request.user), timezone.now()
    if word == "here":
        return do(
            request,
            lambda: timber_waits.timber_came(who, row, now=now),
            _("The timber is here; the plan is being made anew."),
            "desk:plan-order",
            number,
        )
    remark = request.POST.get("remark", "")
    return do(
        request,
        lambda: timber_waits.await_timber(who, row, remark=remark, now=now),
        _("It waits on timber; the plan is being made anew."),
        "desk:plan-order",
        number,
    )
