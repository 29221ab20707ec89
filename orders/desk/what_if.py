"""What-if at the desk: ask the worker what a decision would do to every promise, watch it, read the answer."""

from collections.abc import Callable
from datetime import date
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from orders.desk.doing import at_field, do
from orders.desk.roles import open_to
from orders.desk.shop_forms import HoursField, SpellForm
from orders.models import BenchPerson, Enquiry, Machine, PlanQuestion, PlanVersion
from orders.refusal import Refused
from orders.services import decisions, questions
from orders.services.planned import standing
from orders.who import Who, somebody
from quoting.services.written import whole_of

QUESTIONS_SHOWN = 8
SATURDAY = 5


class AcceptForm(forms.Form):
    """An enquiry, in its turn or going first."""

    enquiry = forms.ModelChoiceField(
        label=gettext_lazy("The enquiry"),
        queryset=Enquiry.objects.none(),
        to_field_name="number",
        empty_label=None,
    )
    rush = forms.BooleanField(label=gettext_lazy("going first, as a rush"), required=False)

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        rows = Enquiry.objects.filter(
            state__in=[Enquiry.State.NEW, Enquiry.State.ASKED_BACK, Enquiry.State.QUOTED]
        )
        chosen = self.fields["enquiry"]
        assert isinstance(chosen, forms.ModelChoiceField)
        chosen.queryset = rows.select_related("customer").order_by("-created_at")
        chosen.label_from_instance = lambda row: f"{row.number}, {row.customer.name}"  # type: ignore[method-assign, assignment]

    def ask(self, who: Who, given: dict[str, Any]) -> PlanQuestion:
        return questions.accept(who, given["enquiry"], rush=given["rush"], now=timezone.now())


class RushForm(forms.Form):
    """An order first of all, or before another."""

    order = forms.ChoiceField(label=gettext_lazy("The order"))
    before = forms.ChoiceField(label=gettext_lazy("goes before"), required=False)

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.turn = decisions.turn()
        named = [(o.number, f"{n}. {o.number}, {o.customer.name}") for n, o in enumerate(self.turn, 1)]
        for name, choices in (("order", named), ("before", [("", _("all others")), *named])):
            field = self.fields[name]
            assert isinstance(field, forms.ChoiceField)
            field.choices = choices

    def ask(self, who: Who, given: dict[str, Any]) -> PlanQuestion:
        by_number = {o.number: o for o in self.turn}
        before = by_number.get(given["before"])
        return questions.rush(who, by_number[given["order"]], before=before, now=timezone.now())


class AwayForm(SpellForm):
    """Somebody away."""

    person = forms.ModelChoiceField(
        label=gettext_lazy("Who"),
        queryset=BenchPerson.objects.filter(active=True),
        to_field_name="key",
        empty_label=None,
    )
    field_order = ["person", "first_day", "last_day"]

    def ask(self, who: Who, given: dict[str, Any]) -> PlanQuestion:
        days = {"first_day": given["first_day"], "last_day": given["last_day"]}
        return questions.away(who, given["person"], **days, now=timezone.now())


class ClosedForm(SpellForm):
    """The shop closed."""

    def ask(self, who: Who, given: dict[str, Any]) -> PlanQuestion:
        return questions.closed(who, **given, now=timezone.now())


class MachineMoreForm(forms.Form):
    """One more of a machine."""

    machine = forms.ModelChoiceField(
        label=gettext_lazy("One more"), queryset=Machine.objects.all(), to_field_name="key", empty_label=None
    )

    def ask(self, who: Who, given: dict[str, Any]) -> PlanQuestion:
        return questions.machine(who, given["machine"], now=timezone.now())


class SaturdayForm(forms.Form):
    """Saturdays worked."""

    people = forms.ModelMultipleChoiceField(
        label=gettext_lazy("By whom"),
        queryset=BenchPerson.objects.filter(active=True),
        to_field_name="key",
        widget=forms.CheckboxSelectMultiple,
    )
    hours = HoursField(label=gettext_lazy("Hours"), initial="08:00-12:00")

    def ask(self, who: Who, given: dict[str, Any]) -> PlanQuestion:
        return questions.weekday(who, list(given["people"]), SATURDAY, given["hours"], now=timezone.now())


FORMS: dict[str, tuple[Any, type[Any]]] = {
    "accept": (gettext_lazy("an enquiry is accepted"), AcceptForm),
    "rush": (gettext_lazy("an order is rushed"), RushForm),
    "away": (gettext_lazy("somebody is away"), AwayForm),
    "closed": (gettext_lazy("the shop is closed"), ClosedForm),
    "machine": (gettext_lazy("there is another machine"), MachineMoreForm),
    "saturdays": (gettext_lazy("Saturdays are worked"), SaturdayForm),
}


@open_to()
def what_if(request: HttpRequest) -> HttpResponse:
    """The questions that can be asked, and the last ones with their answers. A link may fill one in."""
    given: dict[str, dict[str, str]] = {}
    if request.GET.get("rush"):
        given["rush"] = {"order": request.GET["rush"]}
    if request.GET.get("accept"):
        given["accept"] = {"enquiry": request.GET["accept"]}
    return what_if_page(request, given=given)


def what_if_page(
    request: HttpRequest, *, wrong: tuple[str, forms.Form] | None = None, given: Any = None
) -> HttpResponse:
    given = given or {}
    shown = [
        (
            name,
            words,
            wrong[1] if wrong and wrong[0] == name else form(initial=given.get(name), auto_id=f"{name}-%s"),
            name in given or bool(wrong and wrong[0] == name),
        )
        for name, (words, form) in FORMS.items()
    ]
    context = {
        "forms": shown,
        "asked": PlanQuestion.objects.filter(kind=PlanQuestion.Kind.WHAT_IF)[:QUESTIONS_SHOWN],
        "may_decide": True,
        "now": timezone.now(),
    }
    return render(request, "desk/what_if.html", context, status=422 if wrong else 200)


@require_POST
@open_to()
def ask(request: HttpRequest, what: str) -> HttpResponse:
    """Ask one of the questions; its own page shows how far it is and what came of it."""
    found = FORMS.get(what)
    if found is None:
        return redirect("desk:what-if")
    form = found[1](request.POST, auto_id=f"{what}-%s")
    if form.is_valid():
        try:
            return redirect("desk:question", form.ask(somebody(request.user), form.cleaned_data).pk)
        except Refused as refused:
            at_field(form, refused)
    return what_if_page(request, wrong=(what, form))


@require_POST
@open_to()
def search(request: HttpRequest) -> HttpResponse:
    """Ask for a longer search."""
    chosen = whole_of(request.POST.get("seconds", "")) or 0
    asked: list[PlanQuestion] = []
    ask_it: Callable[[], None] = lambda: asked.append(  # noqa: E731 -- the page follows the row it makes
        questions.search(somebody(request.user), seconds=chosen, now=timezone.now())
    )
    response = do(request, ask_it, _("The worker is looking."), "desk:plan")
    return redirect("desk:question", asked[0].pk) if asked else response


@open_to()
def question(request: HttpRequest, pk: int) -> HttpResponse:
    """One question: how far it is, or its answer."""
    row = get_object_or_404(PlanQuestion, pk=pk)
    part = request.headers.get("HX-Request") == "true"
    if part and not row.is_open:
        return HttpResponse(headers={"HX-Refresh": "true"})
    now = timezone.now()
    context = {
        "question": row,
        "replaced": replaced(row),
        "percent": round(100 * row.share),
        "gained": gained(row),
        "standing": standing(now) if row.is_open else None,
        "effects": [dated(effect) for effect in row.answer.get("effects", []) if effect["told"]],
        "quiet": sum(not effect["told"] for effect in row.answer.get("effects", [])),
        "newcomer": [date.fromisoformat(day) for day in row.answer.get("newcomer", [])],
        "may_decide": True,
        "now": now,
    }
    return render(request, "desk/question_progress.html" if part else "desk/question.html", context)


def replaced(row: PlanQuestion) -> bool:
    """Whether another plan stands by now than when a what-if was answered."""
    if row.kind != PlanQuestion.Kind.WHAT_IF or not row.plan_version or row.is_open:
        return False
    return not PlanVersion.objects.filter(current=True, version=row.plan_version).exists()


def gained(row: PlanQuestion) -> int | None:
    """By how much of its lateness and time in the shop a search has bettered the plan so far, in percent."""
    first, best = row.told.get("first"), row.told.get("best")
    return round(100 * (1 - best / first)) if first and best is not None else None


def dated(effect: dict[str, Any]) -> dict[str, Any]:
    """An effect with its days as days and its chances in percent."""
    days = {k: date.fromisoformat(effect[k]) for k in ("plan_on_before", "plan_on_after")}
    promise = date.fromisoformat(effect["promise"]) if effect["promise"] else None
    chances = {
        k: None if effect[k] is None else round(100 * effect[k]) for k in ("late_before", "late_after")
    }
    return {**effect, **days, **chances, "promise": promise}


@require_POST
@open_to()
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """End a question or a search under way."""
    row = get_object_or_404(PlanQuestion, pk=pk)
    return do(
        request,
        lambda: questions.cancel(somebody(request.user), row, now=timezone.now()),
        _("It is being ended; a search keeps the best plan it has found."),
        "desk:question",
        pk,
    )
