"""Forms of the shop model: hours written as on a door, skills, spells of days, machines, racks, stages."""

from typing import Any

from django import forms
from django.contrib.auth.models import User
from django.utils.dates import WEEKDAYS
from django.utils.text import format_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from orders.desk.forms import DayField
from orders.models import BenchPerson, Machine, Rack, StageType, Workshop
from orders.services.equipment import MOST
from orders.services.shop import Week
from orders.who import BENCH, OWNER
from quoting.propeller.build import SKILLS

MINUTES = 24 * 60


def clock(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"


def day_words(day: list[list[int]]) -> str:
    """One day's hours as they are typed: 08:00-12:00 13:00-17:00."""
    return " ".join(f"{clock(start)}-{clock(end)}" for start, end in day)


class HoursField(forms.CharField):
    """One day's spells of work, such as 08:00-12:00 13:00-17:00; empty for a day off. Cleans to minutes."""

    def __init__(self, **more: Any) -> None:
        super().__init__(required=False, max_length=80, **more)

    def clean(self, value: Any) -> list[list[int]]:
        text = super().clean(value).replace("\N{EN DASH}", "-").replace(",", " ").replace(" - ", "-")
        spells = [self._spell(part) for part in text.split()]
        spells.sort()
        if any(before[1] > after[0] for before, after in zip(spells, spells[1:], strict=False)):
            raise forms.ValidationError(
                _("These hours overlap: each spell begins when the one before has ended.")
            )
        return spells

    def _spell(self, part: str) -> list[int]:
        start, _dash, end = part.partition("-")
        minutes = [self._minute(start), self._minute(end)]
        if minutes[0] >= minutes[1]:
            raise forms.ValidationError(_("Each spell must end after it begins, and by 24:00."))
        return minutes

    def _minute(self, word: str) -> int:
        hour, _colon, minute = word.partition(":")
        if not (hour.isascii() and hour.isdigit() and len(minute) in (0, 2) and (minute or "0").isdigit()):
            raise forms.ValidationError(
                _("Write hours like 08:00-12:00 13:00-17:00, or leave the day empty.")
            )
        found = int(hour) * 60 + int(minute or 0)
        if int(minute or 0) > 59 or found > MINUTES:
            raise forms.ValidationError(_("Hours run from 00:00 to 24:00."))
        return found


class WeekForm(forms.Form):
    """Seven days of hours, Monday first."""

    def add_days(self, week: Week) -> None:
        for number in range(7):
            self.fields[f"day{number}"] = HoursField(
                label=WEEKDAYS[number], initial=day_words(week[number]) if week else ""
            )

    def week(self) -> Week:
        return [self.cleaned_data[f"day{number}"] for number in range(7)]

    @property
    def days(self) -> list[Any]:
        return [self[f"day{number}"] for number in range(7)]


class PersonForm(WeekForm):
    """Somebody at the bench."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=80)
    skills = forms.MultipleChoiceField(
        label=gettext_lazy("Can do"),
        choices=[(skill, skill) for skill in SKILLS],
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )
    user = forms.ModelChoiceField(
        label=gettext_lazy("Signs in as"),
        queryset=User.objects.none(),
        required=False,
        empty_label="\N{EN DASH}",
    )

    def __init__(self, *args: Any, person: BenchPerson | None = None, **more: Any) -> None:
        if person:
            more["initial"] = {"name": person.name, "skills": person.skills, "user": person.user_id}
        super().__init__(*args, **more)
        self.add_days(person.week if person else [])
        taken = BenchPerson.objects.exclude(user=None).exclude(pk=person.pk if person else 0)
        users = self.fields["user"]
        assert isinstance(users, forms.ModelChoiceField)
        users.queryset = (
            User.objects.filter(groups__name__in=[OWNER, BENCH], is_active=True)
            .exclude(pk__in=taken.values("user"))
            .distinct()
        )
        users.label_from_instance = lambda user: f"{user.get_full_name()} ({user.email})"  # type: ignore[method-assign, assignment]


class SpellForm(forms.Form):
    """From one day to another, both included."""

    first_day = DayField(label=gettext_lazy("First day"))
    last_day = DayField(label=gettext_lazy("Last day"))


class AbsenceForm(SpellForm):
    """Days somebody is away."""

    reason = forms.CharField(label=gettext_lazy("Why (may be empty)"), max_length=80, required=False)
    foreseen = forms.TypedChoiceField(
        label=gettext_lazy("Was it foreseen?"),
        choices=[
            ("yes", gettext_lazy("Foreseen, as leave is")),
            ("no", gettext_lazy("Not foreseen, as sickness is: the forecast learns how often that happens")),
        ],
        coerce=lambda typed: typed == "yes",
        widget=forms.RadioSelect,
        error_messages={"required": gettext_lazy("Say whether it was foreseen.")},
    )


class ClosureForm(SpellForm):
    """Days the shop is closed."""

    reason = forms.CharField(label=gettext_lazy("Why (may be empty)"), max_length=80, required=False)


class OpeningForm(WeekForm):
    """When the shop is open, where its clock stands, whose holidays it keeps."""

    timezone = forms.CharField(
        label=gettext_lazy("Time zone"),
        max_length=60,
        help_text=gettext_lazy(
            "As the tz database writes it, such as Europe/Berlin; summer time follows by itself."
        ),
    )
    holidays_country = forms.CharField(
        label=gettext_lazy("Public holidays of"),
        max_length=2,
        help_text=gettext_lazy("The country's two letters, such as DE."),
    )
    holidays_subdivision = forms.CharField(
        label=gettext_lazy("and of its part"),
        max_length=6,
        required=False,
        help_text=gettext_lazy("A state or province with holidays of its own, such as SH; may be empty."),
    )

    def __init__(self, *args: Any, workshop: Workshop, **more: Any) -> None:
        names = ("timezone", "holidays_country", "holidays_subdivision")
        more["initial"] = {name: getattr(workshop, name) for name in names}
        super().__init__(*args, **more)
        self.add_days(workshop.opening)

    def clean_holidays_country(self) -> str:
        return str(self.cleaned_data["holidays_country"]).upper()

    def clean_holidays_subdivision(self) -> str:
        return str(self.cleaned_data["holidays_subdivision"]).upper()


class WholeField(forms.IntegerField):
    """A whole number from 1 to `most` in plain digits."""

    def __init__(self, *, most: int, **more: Any) -> None:
        super().__init__(
            min_value=1,
            max_value=most,
            widget=forms.TextInput(attrs={"inputmode": "numeric"}),
            error_messages={
                "invalid": format_lazy(gettext_lazy("Enter a whole number from 1 to {most}."), most=most)
            },
            **more,
        )

    def to_python(self, value: Any) -> int | None:
        if isinstance(value, str) and value.strip() and not value.strip().isascii():
            raise forms.ValidationError(self.error_messages["invalid"], code="invalid")
        return super().to_python(value)


class MachineForm(forms.Form):
    """A machine, and how many stand side by side."""

    name = forms.CharField(label=gettext_lazy("Machine"), max_length=80)
    count = WholeField(label=gettext_lazy("How many"), most=MOST, initial=1)

    def __init__(self, *args: Any, machine: Machine | None = None, **more: Any) -> None:
        if machine:
            more["initial"] = {"name": machine.name, "count": machine.count}
        super().__init__(*args, **more)


class RackForm(forms.Form):
    """A rack, and how many places it has."""

    name = forms.CharField(label=gettext_lazy("Rack"), max_length=80)
    capacity = WholeField(label=gettext_lazy("Places"), most=MOST, initial=1)

    def __init__(self, *args: Any, rack: Rack | None = None, **more: Any) -> None:
        if rack:
            more["initial"] = {"name": rack.name, "capacity": rack.capacity}
        super().__init__(*args, **more)


class StageForm(forms.Form):
    """What a stage asks for."""

    skill = forms.ChoiceField(label=gettext_lazy("Skill"), choices=[(skill, skill) for skill in SKILLS])
    machine = forms.ModelChoiceField(
        label=gettext_lazy("On the machine"),
        queryset=Machine.objects.all(),
        required=False,
        empty_label="none",
    )
    rack = forms.ModelChoiceField(
        label=gettext_lazy("Waits in the rack"),
        queryset=Rack.objects.all(),
        required=False,
        empty_label="none",
    )

    def __init__(self, *args: Any, stage: StageType, **more: Any) -> None:
        more["initial"] = {"skill": stage.skill, "machine": stage.machine_id, "rack": stage.rack_id}
        super().__init__(*args, **more)
