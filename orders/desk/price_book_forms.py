"""Forms of the price book's pages: its values with unit and bounds, new entries, the set to re-price, the day in force."""

import re
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from orders.desk.forms import DayField, OnPage
from orders.services.repricing import Choice
from quoting.models import Quote
from quoting.pricing.book import PriceBook
from quoting.pricing.entries import DEFINITIONS
from quoting.pricing.refusal import Refused as PriceRefused
from quoting.pricing.refusal import read_decimal, within

LONGEST_LIST = 4000
FAMILIES = [(d.key, f"{d.key.removesuffix('.*')}: {d.sentence}") for d in DEFINITIONS.values() if d.is_family]
STATES = [
    (Quote.State.SENT, _("open")),
    (Quote.State.ACCEPTED, _("accepted")),
    (Quote.State.DECLINED, _("declined")),
    (Quote.State.LAPSED, _("lapsed")),
    (Quote.State.SUPERSEDED, _("superseded by a later revision")),
]


def in_money(unit: str, currency: str) -> str:
    """The unit of an entry as it is read: money is the book's currency."""
    return unit.replace("money", currency)


class EntriesForm(OnPage):
    """Every value of a price book, each with its sentence, unit and own bounds at the box."""

    def __init__(self, *args: Any, book: PriceBook, **more: Any) -> None:
        super().__init__(*args, **more)
        self.book = book
        for key, entry in book.entries.items():
            field = forms.CharField(
                label=key,
                max_length=26,
                initial=f"{entry.value:f}",
                help_text=_("%(sentence)s From %(low)s to %(high)s.")
                % {"sentence": entry.sentence, "low": f"{entry.low:f}", "high": f"{entry.high:f}"},
                widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
                error_messages={
                    "required": _("Enter a number from %(low)s to %(high)s.")
                    % {"low": f"{entry.low:f}", "high": f"{entry.high:f}"}
                },
            )
            field.unit = in_money(entry.unit, book.currency)  # type: ignore[attr-defined] # read by the template
            self.fields[key] = field

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        for key, entry in self.book.entries.items():
            if key not in given:
                continue
            try:
                unit = in_money(entry.unit, self.book.currency)
                given[key] = within(read_decimal(given[key], key), entry.low, entry.high, key, unit)
            except PriceRefused as refused:
                self.add_error(key, refused.finding.message)
        return given

    def changed_values(self) -> dict[str, Decimal]:
        """The values that are not as they were."""
        return {k: v for k, v in self.cleaned_data.items() if v != self.book[k]}


class NewEntryForm(OnPage):
    """One more entry of a family: a timber, a skill, a zone, a quantity."""

    family = forms.ChoiceField(label=_("Kind of entry"), choices=FAMILIES)
    code = forms.CharField(
        label=_("For"),
        max_length=40,
        help_text=_(
            "The code of the timber, glue, finish, guard, skill or zone; for a quantity break the number, such as 10."
        ),
        error_messages={
            "required": _("Enter a code such as yellow-birch, or a number for a quantity break.")
        },
    )
    value = forms.CharField(
        label=_("Value"),
        max_length=26,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
        error_messages={"required": _("Enter a plain number such as 12.50.")},
    )

    def clean_value(self) -> Decimal:
        try:
            return read_decimal(self.cleaned_data["value"], "value")
        except PriceRefused as refused:
            raise forms.ValidationError(refused.finding.message) from refused

    @property
    def key(self) -> str:
        return f"{self.cleaned_data['family'].removesuffix('*')}{self.cleaned_data['code'].strip()}"


class TakeOutForm(OnPage):
    """One entry of a family to take out of the draft."""

    def __init__(self, *args: Any, book: PriceBook, **more: Any) -> None:
        super().__init__(*args, **more)
        wanted = {d.wanted for d in DEFINITIONS.values()}
        keys = [key for key in book.entries if key not in wanted]
        self.fields["key"] = forms.ChoiceField(
            label=_("Entry to take out; the family's “other” then stands in"), choices=[(k, k) for k in keys]
        )


class RepriceForm(OnPage):
    """Which past quotes and open enquiries are priced under the draft."""

    states = forms.MultipleChoiceField(
        label=_("Quotes that are"),
        choices=STATES,
        required=False,
        initial=[Quote.State.SENT, Quote.State.ACCEPTED, Quote.State.DECLINED, Quote.State.LAPSED],
        widget=forms.CheckboxSelectMultiple,
    )
    sent_from = forms.DateField(label=_("Sent from (may be empty)"), required=False)
    sent_to = forms.DateField(label=_("to (may be empty)"), required=False)
    enquiries = forms.BooleanField(label=_("Open enquiries too"), required=False, initial=True)
    numbers = forms.CharField(
        label=_("Or only these numbers"),
        required=False,
        max_length=LONGEST_LIST,
        help_text=_(
            "Numbers of quotes and enquiries, such as Q-2026-0012 E-2026-0040; then nothing above counts."
        ),
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        for name in ("sent_from", "sent_to"):
            self.fields[name] = PastDayField(label=self.fields[name].label, required=False)
        self.order_fields(["states", "sent_from", "sent_to", "enquiries", "numbers"])

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        first, last = given.get("sent_from"), given.get("sent_to")
        if first and last and last < first:
            self.add_error("sent_to", _("Choose a day on or after the first."))
        return given

    @property
    def choice(self) -> Choice:
        given = self.cleaned_data
        numbers = tuple(dict.fromkeys(re.split(r"[\s,;]+", given["numbers"].strip())))
        return Choice(
            states=tuple(given["states"]),
            sent_from=given["sent_from"],
            sent_to=given["sent_to"],
            enquiries=given["enquiries"],
            numbers=tuple(n for n in numbers if n),
        )


class PastDayField(DayField):
    """A day however long ago."""

    def to_python(self, value: Any) -> date | None:
        if isinstance(value, str) and not value.isascii():
            raise forms.ValidationError(self.error_messages["invalid"], code="invalid")
        return forms.DateField.to_python(self, value)


class InForceForm(OnPage):
    """From which day a price book is in force."""

    effective_from = DayField(label=_("In force from"))
