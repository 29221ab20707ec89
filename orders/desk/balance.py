"""The balance worksheet of a propeller on the bench: readings in, what may stay and what to do about the rest out."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _

from orders.desk.bench import the_stage
from orders.desk.roles import open_to
from orders.pictures import unit_of
from orders.services.balancing import GRAM_MM, Balanced, Bench, Readings, balance, bench_of
from quoting.propeller.balance import GRADES, STANDARD, USUAL_GRADE, Action, Correction
from quoting.propeller.drawing.lettering import Units, both_lengths, grouped
from quoting.services.reading import Reading

HEAVIEST = 0.5
"""kg: nobody hangs more than this on a blade to balance it."""
OFFERED_GRADES = tuple(grade for grade in GRADES if 1 <= grade <= 40)


def figure(label: str, help_text: str = "") -> forms.CharField:
    box = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
    return forms.CharField(label=label, help_text=help_text, required=False, max_length=24, widget=box)


class WorksheetForm(forms.Form):
    """Readings at the knife-edges. Weights in grams, radii in the reader's unit; values cleaned to SI."""

    def __init__(self, *args: Any, bench: Bench, units: Units, **more: Any) -> None:
        super().__init__(*args, **more)
        self.bench, self.units = bench, units
        if bench.blades == 2:
            sides = [("", _("level")), ("1", _("blade 1 sinks")), ("2", _("blade 2 sinks"))]
            self.fields["heavy"] = forms.ChoiceField(label=_("Blades level"), choices=sides, required=False)
            self.fields["weight"] = figure(_("Weight that holds it, g"), _("Hung on the blade that rises."))
            sides = [("", _("stays")), ("right", _("falls to the right")), ("left", _("falls to the left"))]
            self.fields["side"] = forms.ChoiceField(
                label=_("Blades upright, blade 1 up, seen from the front"), choices=sides, required=False
            )
            self.fields["side_weight"] = figure(
                _("Weight that holds it upright, g"), _("On the side that rises.")
            )
            self.fields["side_radius"] = figure(
                _("That weight hung at, %(unit)s from the shaft") % {"unit": units}
            )
        else:
            sides = [("", _("level")), ("sinks", _("sinks")), ("rises", _("rises"))]
            for k in range(1, bench.blades + 1):
                label = _("Blade %(n)d laid level") % {"n": k}
                self.fields[f"heavy_{k}"] = forms.ChoiceField(label=label, choices=sides, required=False)
                self.fields[f"weight_{k}"] = figure(_("Weight that holds blade %(n)d, g") % {"n": k})
        self.fields["at"] = figure(_("Blades' weights hung at, %(unit)s from the shaft") % {"unit": units})
        self.fields["mass"] = figure(_("Mass of the propeller, kg"), _("Weighed; else as computed."))
        self.fields["rpm"] = figure(_("Rated speed of the propeller, rev/min"))
        self.fields["radius"] = figure(_("Correct the blades at, %(unit)s from the shaft") % {"unit": units})
        self.fields["grade"] = forms.ChoiceField(
            label=_("Grade of ISO 21940-11, mm/s"),
            choices=[(f"{grade:g}", f"G {grade:g}") for grade in OFFERED_GRADES],
            help_text=_("The standard names none for propellers; 6.3 is common practice."),
        )

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        reading = Reading({name: str(value) for name, value in given.items()})
        self.values = self._read(reading)
        for finding in reading.findings:
            self.add_error(finding.field, finding.message)
        return given

    def _read(self, reading: Reading) -> dict[str, Any]:
        bench, unit = self.bench, self.units
        at = reading.amount("at", "length", unit, 0.02, bench.radius) or bench.correction_radius
        if bench.blades == 2:
            sign = {"1": 1.0, "2": -1.0}.get(reading.raw("heavy"), 0.0)
            along = sign * self._weight(reading, "weight", "heavy") * at
            sign = {"right": 1.0, "left": -1.0}.get(reading.raw("side"), 0.0)
            side_at = reading.amount("side_radius", "length", unit, 0.02, bench.radius) or bench.boss_radius
            readings = Readings(along, sign * self._weight(reading, "side_weight", "side") * side_at)
        else:
            signs = {"sinks": 1.0, "rises": -1.0}
            readings = Readings(
                blades=tuple(
                    signs.get(reading.raw(f"heavy_{k}"), 0.0)
                    * self._weight(reading, f"weight_{k}", f"heavy_{k}")
                    * at
                    for k in range(1, bench.blades + 1)
                )
            )
        turns = reading.amount("rpm", "rotation", "rpm", 5, 150) or bench.turns
        return {
            "readings": readings,
            "mass": reading.amount("mass", "number", "1", 0.2, 200, example="4.2") or bench.mass,
            "turns": turns,
            "radius": reading.amount("radius", "length", unit, bench.boss_radius * 1.01, bench.radius)
            or bench.correction_radius,
            "grade": float(reading.raw("grade") or USUAL_GRADE),
        }

    def _weight(self, reading: Reading, name: str, side: str) -> float:
        """A weight in kg; one without its side, or a side without its weight, is to be mended."""
        weight = reading.amount(name, "number", "1", 0, HEAVIEST * 1000, example="3.5")
        if weight and not reading.has(side):
            reading.mend(side, "side-missing", _("Say which way it went with this weight off."))
        if reading.has(side) and weight is None and not reading.has(name):
            reading.mend(name, "missing", _("Give the weight that held it, in grams."))
        return (weight or 0.0) / 1000


@dataclass(frozen=True, slots=True)
class Todo:
    """One thing to do, in words."""

    action: str
    place: str
    amount: str
    where: str


def todo(correction: Correction, units: Units) -> Todo:
    grams = grouped(correction.mass * 1000, 2)
    if correction.action is Action.ADD_VARNISH:
        action, amount = _("add varnish"), _("%(grams)s g dry") % {"grams": grams}
    else:
        volume = grouped((correction.volume or 0.0) * 1e6, 2)
        action = _("take wood")
        amount = _("%(grams)s g, %(volume)s cm³") % {"grams": grams, "volume": volume}
    return Todo(action, correction.place, amount, both_lengths(round(correction.radius, 4), units))


@open_to("bench")
def sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The worksheet of the propeller at a balancing stage; nothing is stored by it."""
    stage = the_stage(pk)
    units = unit_of(request.COOKIES.get("units", "in"))
    bench = bench_of(stage.propeller)
    typed = request.GET if "grade" in request.GET else None
    form = WorksheetForm(typed, bench=bench, units=units, initial={"grade": f"{USUAL_GRADE:g}"})
    context: dict[str, Any] = {
        "stage": stage,
        "order": stage.propeller.order,
        "form": form,
        "now": timezone.now(),
        "bench": bench,
        "defaults": _defaults(bench, units),
        "standard": STANDARD,
    }
    status = 200
    if typed is not None:
        if form.is_valid():
            context |= _shown(balance(bench, **form.values), bench, units)
        else:
            status = 422
    return render(request, "desk/balance.html", context, status=status)


def _defaults(bench: Bench, units: Units) -> list[tuple[str, str]]:
    """What is taken where a box stays empty."""
    return [
        (_("Mass"), _("%(mass)s kg, computed") % {"mass": f"{bench.mass:.2f}"}),
        (
            _("Rated speed of the propeller"),
            f"{60 * bench.turns:.0f} rev/min" if bench.turns else _("not known: type it"),
        ),
        (_("Blades weighed and corrected at"), both_lengths(round(bench.correction_radius, 4), units)),
        (_("Boss, half its width"), both_lengths(round(bench.boss_radius, 4), units)),
        (_("Density of the timber"), f"{bench.density:.0f} kg/m³"),
    ]


def _shown(made: Balanced, bench: Bench, units: Units) -> dict[str, Any]:
    """The result in the bench's units, g mm."""
    sheet = made.sheet

    def gram_mm(value: float) -> str:
        return f"{grouped(value * GRAM_MM, 1)} g·mm"

    rows = [(_("Unbalance now"), gram_mm(sheet.unbalance))]
    if sheet.unbalance > 1e-8:
        rows.append(
            (
                _("Heavy towards"),
                _("%(angle)s° clockwise from blade 1, seen from the front")
                % {"angle": f"{sheet.heavy_angle:.0f}"},
            )
        )
    if made.force is not None:
        rows.append((_("It pulls at rated speed with"), f"{made.force:.1f} N"))
    if made.limits is not None:
        by = _("May stay by grade G %(grade)s") % {"grade": f"{made.limits.grade:g}"}
        rows.append((by, gram_mm(made.limits.by_grade)))
    if bench.maker_limit is not None:
        rows.append(
            (_("May stay by the engine's maker"), f"{gram_mm(bench.maker_limit)} ({bench.maker_source})")
        )
    contradicts = made.misfit > max(made.permitted or 0.0, 0.1 * sheet.unbalance)
    return {
        "made": made,
        "rows": rows,
        "judged": made.permitted is not None,
        "additions": [todo(c, units) for c in sheet.additions],
        "removals": [todo(c, units) for c in sheet.removals],
        "misfit": gram_mm(made.misfit) if contradicts else "",
        "residual": f"{sheet.unbalance * GRAM_MM:.1f}",
    }
