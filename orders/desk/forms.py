"""Forms of the desk: money typed in the currency's own decimals, minutes, measurements, changed lines."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

from orders.models import BenchPerson
from orders.picture_field import PhotographField
from orders.services.measurements import Measurement
from orders.services.payment import LONGEST_REFERENCE
from quoting.pricing.money import EXPONENTS, Money
from quoting.services.written import whole_of

MOST_MONEY = Decimal(10_000_000)
MOST_DECIMALS = 6
MOST_LINE = Decimal(1_000_000)
FURTHEST = timedelta(days=3 * 366)


def plain_decimal(text: str, most: Decimal) -> Decimal:
    """A number in plain digits up to `most`; raises ValidationError naming what will do.

    A comma before exactly three digits is refused: one country reads 1,250 as a thousand, another as one and a bit.
    """
    body = text.strip()
    grouped = "," in body and len(body.partition(",")[2]) == 3
    whole, point, part = body.replace(",", ".", 1).partition(".")
    plain = whole.isascii() and whole.isdigit() and (not point or (part.isascii() and part.isdigit()))
    if grouped or not plain or len(part) > MOST_DECIMALS or Decimal(f"{whole}.{part or 0}") > most:
        raise forms.ValidationError(
            _(
                "Enter a number in plain digits from 0 to %(most)s with at most %(decimals)d decimals, such as 12.5."
            ),
            params={"most": f"{most:f}", "decimals": MOST_DECIMALS},
        )
    return Decimal(f"{whole}.{part}" if part else whole)


def missing(label: Any) -> Any:
    """What is said at a field that may not be empty."""
    return format_lazy("{} {}", _("Still to be filled in:"), label or "")


class OnPage(forms.Form):
    """A form that shares its page with others: the ids of its fields are its own."""

    def __init__(self, *args: Any, **more: Any) -> None:
        more.setdefault("auto_id", f"{type(self).__name__.lower()}-%s")
        super().__init__(*args, **more)

    def full_clean(self) -> None:
        """Check the fields; one that is left empty and has no words of its own for that is named."""
        for field in self.fields.values():
            if field.error_messages["required"] == forms.Field.default_error_messages["required"]:
                field.error_messages["required"] = missing(field.label)
        super().full_clean()


class DayField(forms.DateField):
    """A day as year-month-day in plain digits, at most three years from today either way."""

    def __init__(self, **more: Any) -> None:
        super().__init__(
            input_formats=["%Y-%m-%d"],
            widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
            error_messages={
                "invalid": _("Enter a day as year-month-day in plain digits, such as 2026-03-31.")
            },
            **more,
        )

    def to_python(self, value: Any) -> date | None:
        if isinstance(value, str) and not value.isascii():
            raise forms.ValidationError(self.error_messages["invalid"], code="invalid")
        day = super().to_python(value)
        if day is not None and abs(day - timezone.localdate()) > FURTHEST:
            raise forms.ValidationError(_("Enter a day within three years of today."), code="far")
        return day


class AmountField(forms.CharField):
    """An amount in plain digits, such as 640 or 640.00; cleans to `Money` of the given currency."""

    def __init__(self, *, currency: str, negative: bool = False, **more: Any) -> None:
        self.currency = currency
        self.negative = negative
        super().__init__(max_length=20, widget=forms.TextInput(attrs={"inputmode": "decimal"}), **more)

    def clean(self, value: Any) -> Money | None:
        text = super().clean(value)
        if not text:
            return None
        digits = EXPONENTS[self.currency]
        body = text.strip().replace(" ", "").replace(",", ".")
        sign, body = ("-", body[1:]) if self.negative and body[:1] in "-\N{MINUS SIGN}" else ("", body)
        whole, point, part = body.partition(".")
        plain = whole.isascii() and whole.isdigit() and (not point or (part.isascii() and part.isdigit()))
        if not plain or len(part) > digits or Decimal(body) > MOST_MONEY:
            raise forms.ValidationError(
                _(
                    "Enter an amount in %(currency)s in plain digits with at most %(digits)d decimals, such as %(example)s."
                ),
                params={"currency": self.currency, "digits": digits, "example": f"{640:.{digits}f}"},
            )
        return Money(Decimal(sign + body), self.currency)


class TransferForm(OnPage):
    """A transfer seen on the bank's statement; `awaited`: money is asked for and open."""

    awaited = True
    received_on = DayField(label=_("Received on"))
    bank_reference = forms.CharField(
        label=_("The bank's reference"),
        max_length=LONGEST_REFERENCE,
        help_text=_("As on the statement; the same reference counts once."),
    )

    def __init__(self, *args: Any, choices: list[tuple[str, str]], currency: str, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["request"] = forms.ChoiceField(label=_("For"), choices=choices)
        self.fields["amount"] = AmountField(label=_("Amount"), currency=currency)
        self.order_fields(["request", "amount", "received_on", "bank_reference"])

    def clean_received_on(self) -> Any:
        day = self.cleaned_data["received_on"]
        if day > timezone.localdate():
            raise forms.ValidationError(_("This day has not come yet; enter the day on the statement."))
        return day


class SendForm(OnPage):
    """What goes out with a quote, the hash of what the page showed, and what the owner says yes to."""

    shown = forms.CharField(widget=forms.HiddenInput, required=False, max_length=64)
    message = forms.CharField(
        label=_("A word to the customer (may be empty)"),
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    promised_for = DayField(
        label=_("Promise another day than the plan's 80 % point (may be empty)"), required=False
    )
    sooner = forms.BooleanField(label=_("Promise it sooner than the plan's 80 % point"), required=False)
    below_cost = forms.BooleanField(label=_("Send it below what it costs the shop"), required=False)

    def clean_promised_for(self) -> Any:
        day = self.cleaned_data["promised_for"]
        if day and day <= timezone.localdate():
            raise forms.ValidationError(_("Promise a day that is still to come."))
        return day


class StartForm(forms.Form):
    """Who begins a stage."""

    person = forms.ModelChoiceField(
        label=_("Who"), queryset=BenchPerson.objects.filter(active=True), empty_label=None
    )


class RecordForm(StartForm):
    """Minutes and measurements of one stage. Measured values go to the service as typed; it says what is wrong."""

    minutes = forms.IntegerField(
        label=_("Minutes of work"),
        min_value=1,
        max_value=1440,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
        error_messages={
            "required": _("Enter the minutes you worked, such as 45."),
            "invalid": _("Enter whole minutes in plain digits, such as 45."),
            "min_value": _("Enter at least one minute of work."),
            "max_value": _("Enter at most %(limit_value)d minutes: no stage takes more than a day at once."),
        },
    )
    note = forms.CharField(
        label=_("Note (may be empty)"),
        required=False,
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    photo = PhotographField(
        label=_("Photograph (may be left out)"),
        required=False,
        help_text=_("PNG, JPEG or WebP, at most 8 MB."),
    )
    unfinished = forms.BooleanField(label=_("Not finished yet: only write the minutes"), required=False)

    def __init__(
        self, *args: Any, wanted: tuple[Measurement, ...] = (), photo: bool = True, **more: Any
    ) -> None:
        super().__init__(*args, **more)
        self.wanted = wanted
        for m in wanted:
            self.fields[m.key] = forms.CharField(
                label=f"{m.label}{f' in {m.unit}' if m.unit else ''}",
                required=False,
                max_length=60,
                help_text=self.limits(m),
                widget=forms.TextInput(attrs={} if m.is_text else {"inputmode": "decimal"}),
            )
        if not photo:
            del self.fields["photo"], self.fields["unfinished"]
        self.order_fields(["person", *(m.key for m in wanted), "minutes", "photo", "note", "unfinished"])

    @staticmethod
    def limits(m: Measurement) -> str:
        """What is expected, beside the box."""
        if m.word:
            return str(_("must read %(word)s") % {"word": m.word})
        if m.low is not None and m.high is not None:
            return f"{m.low:g} \N{EN DASH} {m.high:g} {m.unit}"
        if m.high is not None:
            return str(_("at most %(high)s") % {"high": f"{m.high:g} {m.unit}"})
        if m.low is not None:
            return str(_("at least %(low)s") % {"low": f"{m.low:g} {m.unit}"})
        return ""

    def measured(self) -> dict[str, str]:
        return {m.key: self.cleaned_data.get(m.key, "") for m in self.wanted}

    def clean_minutes(self) -> int:
        typed = whole_of(str(self.data.get("minutes", "")).strip())
        if typed is None:
            raise forms.ValidationError(_("Enter whole minutes in plain digits, such as 45."))
        return typed
