"""Forms of the books: money that goes back, carriers' bills, payouts, tax, credit notes, months and reversals."""

from datetime import date
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from orders.desk.forms import AmountField, DayField, OnPage
from orders.desk.order_forms import why
from orders.models import Invoice, Order, Period
from orders.services import crediting
from orders.services.owed import Back, back_of
from orders.services.payment import LONGEST_REFERENCE
from orders.who import BOOKKEEPER, OWNER, Who
from orders.words import money_words
from quoting.pricing.money import EXPONENTS, Money


class PaidForm(OnPage):
    """Money seen on the bank's statement: the day, today unless typed otherwise, and the bank's reference."""

    paid_on = DayField(label=_("Paid on"), initial=timezone.localdate)
    bank_reference = forms.CharField(
        label=_("The bank's reference"),
        max_length=LONGEST_REFERENCE,
        help_text=_("As on the statement; the same reference counts once."),
    )


class BookedForm(OnPage):
    """Money that is booked under a reference of its own."""

    paid_on = DayField(label=_("Paid on"), initial=timezone.localdate)
    reference = forms.CharField(
        label=_("Reference"),
        max_length=LONGEST_REFERENCE,
        help_text=_("As on the statement or bill; the same reference counts once."),
    )


def typed(minor: int, currency: str) -> str:
    """An amount as it is typed into a box."""
    return f"{Money.from_minor(minor, currency).amount:.{EXPONENTS[currency]}f}"


def owed_field(most: int, currency: str) -> AmountField:
    return AmountField(
        label=_("Amount in %(currency)s") % {"currency": currency},
        currency=currency,
        initial=typed(most, currency),
        help_text=_("Up to %(most)s.") % {"most": money_words(Money.from_minor(most, currency))},
    )


def net_field(back: Back, currency: str) -> AmountField:
    return AmountField(
        label=_("Amount in %(currency)s before tax") % {"currency": currency},
        currency=currency,
        help_text=_("Up to %(most)s is left of the sale; the tax on it goes back as well.")
        % {"most": money_words(Money.from_minor(back.net, currency))},
    )


class PayBackByBankForm(PaidForm):
    """A transfer that paid back what was owed."""

    def __init__(self, *args: Any, back: Back, currency: str, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["amount"] = owed_field(back.owed, currency)
        self.order_fields(["amount"])


class PayBackByCardForm(OnPage):
    """What is owed goes back to the card."""

    def __init__(self, *args: Any, back: Back, currency: str, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["amount"] = owed_field(min(back.owed, back.by_card), currency)


class RefundByBankForm(PaidForm):
    """A transfer that refunded part of a sale."""

    reason = why(_("Why, in words for the books"))

    def __init__(self, *args: Any, back: Back, currency: str, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["net"] = net_field(back, currency)
        self.order_fields(["net", "reason"])


class RefundByCardForm(OnPage):
    """Part of a sale goes back to the card."""

    reason = why(_("Why, in words for the books"))

    def __init__(self, *args: Any, back: Back, currency: str, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["net"] = net_field(back, currency)
        self.order_fields(["net"])


class CarriageForm(BookedForm):
    """A carrier's bill that was paid from the bank."""

    def __init__(self, *args: Any, currency: str, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["net"] = AmountField(
            label=_("The bill before tax, in %(currency)s") % {"currency": currency}, currency=currency
        )
        self.fields["tax"] = AmountField(
            label=_("Tax on it that is reclaimed (may be empty)"), currency=currency, required=False
        )
        self.order_fields(["net", "tax"])


class CurrencyForm(BookedForm):
    """Money in one of the currencies that are there, the first unless another is chosen."""

    def __init__(self, data: Any = None, *, held: dict[str, int], **more: Any) -> None:
        super().__init__(data, **more)
        asked = str(data.get("currency", "")) if data else ""
        self.currency = asked if asked in held else next(iter(held))
        self.held = held
        if len(held) > 1:
            self.fields["currency"] = forms.ChoiceField(
                label=_("Currency"), choices=[(c, c) for c in held], initial=self.currency
            )
        self.fields["amount"] = AmountField(label=_("Amount"), currency=self.currency)
        self.order_fields(["currency", "amount"])

    @property
    def there(self) -> list[Money]:
        """What is there to be paid, in each currency."""
        return [Money.from_minor(minor, currency) for currency, minor in self.held.items()]


class PayoutForm(CurrencyForm):
    """The card provider paid out."""

    def __init__(self, data: Any = None, **more: Any) -> None:
        super().__init__(data, **more)
        self.fields["amount"].label = _("What arrived at the bank")
        self.fields["fee"] = AmountField(
            label=_("Fee taken off the payout (may be empty)"), currency=self.currency, required=False
        )
        self.order_fields(["currency", "amount", "fee"])


class RemitForm(CurrencyForm):
    """Tax was paid to the authority."""


class MonthForm(OnPage):
    """One month of the books."""

    def __init__(self, *args: Any, months: list[Period], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["month"] = forms.ChoiceField(
            label=_("Month"), choices=[(m.first_day.isoformat(), f"{m.first_day:%Y-%m}") for m in months]
        )
        self.order_fields(["month"])

    def clean_month(self) -> date:
        return date.fromisoformat(self.cleaned_data["month"])


class CloseForm(MonthForm):
    """Close a month: nothing more is booked in it."""


class ReopenForm(MonthForm):
    """Open a closed month again."""

    reason = why(_("Why it is opened again"))


class ReverseForm(OnPage):
    """Reverse an entry that was booked wrong."""

    reason = why(_("What was wrong with it"))


class CreditForm(OnPage):
    """Credit lines of an invoice."""

    reason = why(_("Why, in words the customer reads"))

    def __init__(self, *args: Any, invoice: Invoice, **more: Any) -> None:
        super().__init__(*args, **more)
        lines = crediting.uncredited(invoice)
        self.fields["lines"] = forms.MultipleChoiceField(
            label=_("Lines to credit"),
            choices=[
                (n["key"], f"{n['label']}, {money_words(Money.from_minor(n['net'], invoice.currency))}")
                for n in lines
            ],
            widget=forms.CheckboxSelectMultiple,
            error_messages={"required": _("Choose at least one line.")},
        )
        self.order_fields(["lines"])


def money_forms(row: Order, who: Who) -> dict[str, Any]:
    """What an order owes back and what may be done about it, as fresh forms, for those who keep the books."""
    if not who.roles & {OWNER, BOOKKEEPER}:
        return {}
    back = back_of(row)
    of: dict[str, Any] = {"back": back, "currency": row.currency}
    found: dict[str, Any] = {"back": back, "card_refunds": row.card_refunds.all()}
    if back.owed:
        found["pay_back_bank"] = PayBackByBankForm(**of)
        if back.by_card:
            found["pay_back_card"] = PayBackByCardForm(**of)
    if back.net:
        found["refund_bank"] = RefundByBankForm(**of)
        if back.by_card:
            found["refund_card"] = RefundByCardForm(**of)
    if row.state == Order.State.DISPATCHED:
        found["carriage"] = CarriageForm(currency=row.currency)
    return found
