"""Forms of the review: a changed line, a line of one's own, what the owner grants or asks, words to the customer."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from orders.desk.forms import MOST_LINE, AmountField, OnPage, plain_decimal
from orders.services.enquiry import LONGEST_TEXT
from quoting.pricing.lines import Category
from quoting.pricing.money import EXPONENTS, Money

LONGEST_REASON = 300
BY_HAND = (
    Category.MATERIAL,
    Category.LABOUR,
    Category.OPTION,
    Category.ARTWORK,
    Category.CRATE,
    Category.FREIGHT,
)


def long_text(label: Any, *, rows: int = 3, most: int = LONGEST_TEXT, missing: Any = None) -> forms.CharField:
    """Words of some lines; what is longer is refused at the field with its length, never cut."""
    return forms.CharField(
        label=label,
        max_length=most,
        widget=forms.Textarea(attrs={"rows": rows}),
        error_messages={
            "required": missing or _("Write a few words."),
            "max_length": _("At most %(limit_value)d characters, please; it has %(show_value)d."),
        },
    )


def reason_field() -> forms.CharField:
    return forms.CharField(
        label=_("Reason, which stands on the line"),
        max_length=LONGEST_REASON,
        error_messages={
            "required": _("Say why: the reason stands on the line."),
            "max_length": _("At most %(limit_value)d characters, please; it has %(show_value)d."),
        },
    )


class PlainNumberField(forms.CharField):
    """A number in plain digits up to `most`; cleans to Decimal, or None when it may be empty."""

    def __init__(self, *, most: Decimal = MOST_LINE, **more: Any) -> None:
        self.most = most
        super().__init__(max_length=20, widget=forms.TextInput(attrs={"inputmode": "decimal"}), **more)

    def clean(self, value: Any) -> Decimal | None:
        text = super().clean(value)
        return plain_decimal(text, self.most) if text else None


class LineForm(OnPage):
    """One line of the price changed by hand: another quantity, another rate, or both, with the reason that stands on it."""

    quantity = PlainNumberField(
        label=_("New quantity (may be empty; 0 strikes the line out)"), required=False
    )
    rate = PlainNumberField(label=_("New rate per unit before tax (may be empty)"), required=False)
    reason = reason_field()

    def __init__(self, *args: Any, lines: list[tuple[str, str]], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["line"] = forms.ChoiceField(label=_("Line"), choices=lines)
        self.order_fields(["line", "quantity", "rate", "reason"])

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if not self.errors and given.get("quantity") is None and given.get("rate") is None:
            self.add_error("quantity", _("Enter a new quantity or a new rate."))
        return given


class ExtraForm(OnPage):
    """A line of the owner's own."""

    label = forms.CharField(label=_("What it is, in words the customer reads"), max_length=120)
    category = forms.ChoiceField(
        label=_("Kind"), choices=[(c.value, c.value) for c in BY_HAND], initial=BY_HAND[0].value
    )
    amount = PlainNumberField(label=_("Quantity"), initial="1")
    unit = forms.CharField(label=_("Unit"), max_length=20, initial="lump")
    price = PlainNumberField(label=_("Rate per unit before tax"))
    cost = PlainNumberField(label=_("What a unit costs the shop"), initial="0")
    because = reason_field()


class TermsForm(OnPage):
    """What the owner grants or asks beside the lines."""

    discount_percent = PlainNumberField(
        label=_("Discount, percent of the goods (may be empty)"), required=False, most=Decimal(100)
    )
    discount_reason = forms.CharField(
        label=_("Reason of the discount, which stands on the line"), required=False, max_length=LONGEST_REASON
    )
    deposit_percent = PlainNumberField(
        label=_("Deposit, percent of the total (empty: as in the price book)"),
        required=False,
        most=Decimal(100),
    )
    insured = forms.BooleanField(label=_("Insure it in transit"), required=False)
    duty_paid = forms.BooleanField(label=_("Import duty paid by us, as estimated"), required=False)
    uncrated = forms.BooleanField(label=_("Without a crate"), required=False)

    def __init__(self, *args: Any, currency: str, **more: Any) -> None:
        super().__init__(*args, **more)
        unit = {"currency": currency}
        self.fields["discount_amount"] = AmountField(
            label=_("or an amount in %(currency)s before tax") % unit, currency=currency, required=False
        )
        self.fields["rush"] = AmountField(
            label=_("Surcharge for going first, in %(currency)s before tax (empty: in its turn)") % unit,
            currency=currency,
            required=False,
        )
        self.order_fields(["discount_percent", "discount_amount", "discount_reason", "rush"])

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        percent, amount = given.get("discount_percent"), given.get("discount_amount")
        if percent is not None and amount is not None:
            self.add_error("discount_amount", _("Enter a percent or an amount, not both."))
        if (percent or amount) and not given.get("discount_reason", "").strip():
            self.add_error("discount_reason", _("Say why: the reason stands on the line."))
        return given

    def kept(self, currency: str) -> dict[str, Any]:
        """The values as plain text, to be kept with the review."""
        digits = EXPONENTS[currency]
        words = {"currency": currency}
        for name, value in self.cleaned_data.items():
            if isinstance(value, Money):
                words[name] = f"{value.amount:.{digits}f}"
            elif isinstance(value, Decimal):
                words[name] = f"{value:f}"
            elif value:
                words[name] = "on" if value is True else str(value)
        return words


class OverrideForm(OnPage):
    """The owner's writing over a stop."""

    override_reason = long_text(
        _("A stop withholds price and date. Override it in writing: why is it sound all the same?"),
        most=2000,
        missing=_("Write why it is sound all the same."),
    )


class AskBackForm(OnPage):
    question = long_text(
        _("Your question; the enquiry waits for the answer"), missing=_("Write the question.")
    )


class DeclineForm(OnPage):
    refusal = long_text(_("Why, in words the customer reads"), missing=_("Say why."))


class WriteForm(OnPage):
    body = long_text(_("Write to the customer"), missing=_("Write something first."))
