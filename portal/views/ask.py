"""The ask page: answered while typing, turned into the other unit, and stored as an enquiry when sent."""

import re
from collections.abc import Iterable, Mapping
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import get_language
from django.views.decorators.http import require_POST

from orders.models import Enquiry
from orders.pictures import plan_of, range_of, unit_of
from orders.services.artwork import picture_kept
from orders.services.enquiry import store_enquiry
from portal.facts import title_of
from portal.forms.ask import AskForm, PropellerForm
from portal.forms.countries import COUNTRIES
from portal.limits import held_back, too_often, typing_too_fast
from portal.templatetags.sheet import INCH
from portal.views.units import remember_units, units_of
from portal.views.who import holder
from quoting.propeller.finding import Finding, Severity
from quoting.services.answers import gravest_first, kept
from quoting.services.asked import LENGTH_UNITS, LENGTHS
from quoting.services.catalogue import Catalogue, catalogue
from quoting.services.engineering import engineering_of
from quoting.services.estimating import Answer, live_estimate
from quoting.services.serial import unstructured
from quoting.services.wishes import answer_to_wish
from quoting.services.written import in_other_unit

HUB_DETAILS = (
    *("lug_diameter", "lug_depth", "boss_diameter", "boss_thickness", "clocking"),
    *("face_plate_thickness", "spacer_thickness", "spinner_diameter", "bolt_length"),
)
WOOD_DETAILS = ("lamination_thickness", "moisture", "humidity", "temperature")
"""Fields behind a line to open; the line stands open when one of them is filled in or wants mending."""
LOOKING = frozenset(("look", "take", "units"))
"""Names of the buttons that answer on the page and send nothing."""


def ask(request: HttpRequest) -> HttpResponse:
    """Show the form, answer without scripts, or store the enquiry and go to its page."""
    offered = catalogue()
    if request.method != "POST":
        form = AskForm(catalogue=offered, initial=request.GET.dict() | remembered(request))
        return page(request, form, offered, None)
    if typing_too_fast(request):
        return asked_too_fast(request, offered)
    if LOOKING & request.POST.keys():
        return looked(request, offered)
    form = AskForm(request.POST, request.FILES, catalogue=offered)
    answer = live_estimate(form.typed(), today=timezone.localdate())
    if answer.specification is None:
        form.show(answer.wrong)
    if not form.is_valid():
        return page(request, form, offered, answer, status=422)
    if held_back(request, form, None, "enquiry", form.cleaned_data["email"].lower()):
        return page(request, form, offered, answer, status=429)
    return redirect("portal:enquiry", token=stored(request, form, answer).token)


def asked_too_fast(request: HttpRequest, offered: Catalogue, enquiry: Enquiry | None = None) -> HttpResponse:
    """The page with all that was typed and no answer, which would take work."""
    messages.warning(request, too_often())
    form = AskForm(initial=typed_so_far(request), catalogue=offered)
    return page(request, form, offered, None, status=429, enquiry=enquiry)


def looked(request: HttpRequest, offered: Catalogue, enquiry: Enquiry | None = None) -> HttpResponse:
    """Answer what was typed, with a recommended size taken or in the other unit, without sending anything."""
    typed = typed_so_far(request)
    if enquiry is not None:
        typed["email"] = enquiry.address["email"]
    answer = live_estimate(PropellerForm(typed, catalogue=offered).typed(), today=timezone.localdate())
    form = AskForm(initial=typed, catalogue=offered)
    form.fields["email"].disabled = enquiry is not None
    response = page(request, form, offered, answer, enquiry=enquiry)
    if request.POST.get("units") in LENGTH_UNITS:
        remember_units(response, typed["length_unit"])
    return response


def typed_so_far(request: HttpRequest) -> dict[str, str]:
    """What stands in the form, with the size of an offer the customer took, or with its lengths in the other unit."""
    typed = {name: str(value) for name, value in request.POST.items()}
    if "take" in typed:
        typed |= size_taken(typed["take"], typed.get("length_unit", "in"))
    if typed.get("units") in LENGTH_UNITS:
        typed |= in_unit(typed, typed["units"])
    return typed


def in_unit(typed: Mapping[str, str], to: str) -> dict[str, str]:
    """Every length typed, in the unit `to`; what carries its own unit stays as it is."""
    was = typed.get("length_unit", "in")
    turned = {name: in_other_unit(typed[name], was, to) for name in LENGTHS if name in typed}
    return {**turned, "length_unit": to}


def size_taken(metres: str, unit: str) -> dict[str, str]:
    """Diameter and pitch of an offer as if typed in the form's unit; nothing when the value is no offer of ours."""
    found = re.fullmatch(r"(\d{1,2}\.\d{4});(\d{1,2}\.\d{4})", metres, re.ASCII)
    if found is None:
        return {}
    per = 0.001 if unit == "mm" else INCH
    diameter, pitch = (f"{float(length) / per:.1f}" for length in found.groups())
    return {"wish": "known", "diameter": diameter, "pitch": pitch}


@require_POST
def estimate(request: HttpRequest) -> HttpResponse:
    """The answer to what is typed so far, as the part of the page it replaces."""
    if typing_too_fast(request):
        return HttpResponse(too_often(), status=429)
    form = PropellerForm(request.POST, catalogue=catalogue())
    answer = live_estimate(form.typed(), today=timezone.localdate())
    return render(request, "portal/ask/answer_partial.html", shown(answer, form, unit_in(request, form)))


def unit_in(request: HttpRequest, form: PropellerForm) -> str:
    """The unit of the form's lengths, in which it is answered too."""
    chosen = form["length_unit"].value()
    return chosen if chosen in LENGTH_UNITS else units_of(request)


def page(
    request: HttpRequest,
    form: AskForm,
    offered: Catalogue,
    answer: Answer | None,
    *,
    status: int = 200,
    enquiry: Enquiry | None = None,
) -> HttpResponse:
    """The whole ask page with its answer beside the form; for an enquiry already stored, to change it."""
    boards = zip(form["timber"], offered.timbers.values(), strict=True)
    context: dict[str, Any] = {
        "form": form,
        "enquiry": enquiry,
        "timbers": [{"option": option, "timber": timber} for option, timber in boards],
        "person_fields": [form[name] for name in AskForm.PERSON],
        "delivery_fields": [form[name] for name in ("country", "delivery", "rush")],
        "hub_fields": [form[name] for name in HUB_DETAILS],
        "wood_fields": [form[name] for name in WOOD_DETAILS],
        "more_hub": any(form[name].value() or form[name].errors for name in HUB_DETAILS),
        "more_wood": any(form[name].value() or form[name].errors for name in WOOD_DETAILS),
    }
    if answer:
        context |= shown(answer, form, unit_in(request, form))
    return render(request, "portal/ask/page.html", context, status=status)


def shown(answer: Answer, form: PropellerForm, unit: str) -> dict[str, Any]:
    """Template context of an answer."""
    if answer.estimate is None:
        return {
            "estimate": None,
            "wrong": labelled(answer.wrong, form),
            "lacking": labelled(answer.lacking, form),
        }
    made = answer.estimate
    severities = [finding.severity for finding in answer.findings]
    drawing = plan_of(made.specification, unit)
    return {
        "estimate": made,
        "findings": gravest_first(answer.findings),
        "stops": severities.count(Severity.STOP),
        "cautions": severities.count(Severity.CAUTION),
        "rush": answer.rush,
        "country_assumed": COUNTRIES.get(answer.country, answer.country) if answer.country_assumed else "",
        "summary": title_of(made.specification, unit),
        "wish": answer_to_wish(made.assessment, unit_of(unit)),
        "engineering": engineering_of(made.assessment, unit_of(unit)),
        "drawing": drawing.wide,
        "drawing_compact": drawing.compact,
        "range_picture": range_of(made.forecast),
        "as_of": timezone.now(),
    }


def labelled(problems: Iterable[Finding], form: PropellerForm) -> list[dict[str, Any]]:
    """Problems with the label and the name of the field they belong to."""
    return [
        {
            "field": p.field if p.field in form.fields else "",
            "label": form.fields[p.field].label if p.field in form.fields else "",
            "message": p.message,
        }
        for p in problems
    ]


def stored(request: HttpRequest, form: AskForm, answer: Answer) -> Enquiry:
    """Keep the enquiry as typed, with its answer."""
    with picture_kept(form.cleaned_data["decal_picture"]) as file:
        return store_enquiry(
            holder(request, form.cleaned_data["name"]),
            typed=typed_whole(form, answer, file),
            specification=unstructured(answer.specification),
            estimate=kept(answer),
            address=form.address(),
            language=get_language() or "en",
            now=timezone.now(),
        )


def typed_whole(form: AskForm, answer: Answer, picture: str) -> dict[str, str]:
    """Everything typed about the propeller, the remark, and the name its picture is kept under."""
    typed = {**answer.typed, "remark": form.cleaned_data["remark"]}
    return {**typed, "decal_picture": picture} if picture else typed


def remembered(request: HttpRequest) -> dict[str, str]:
    """What is known of a signed-in customer, and the length unit of the page."""
    known: dict[str, str] = {"length_unit": units_of(request)}
    customer = getattr(request.user, "customer", None) if request.user.is_authenticated else None
    if customer:
        known |= {name: getattr(customer, name) for name in (*AskForm.PERSON, "country")}
    return known
