"""Forms of an order's page: hold, cancel under the terms, dispatch, charge, ask again, write."""

from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from orders.desk.forms import AmountField, OnPage, TransferForm
from orders.desk.review_forms import long_text
from orders.models import Order, PaymentRequest
from orders.services.charges import Cancelling

SHORT = 500


def why(label: Any) -> forms.CharField:
    return long_text(label, rows=2, most=SHORT, missing=_("Say why."))


class HoldForm(OnPage):
    reason = why(_("Hold: why"))


class NoteForm(OnPage):
    """What was changed on a drawing or mock-up that is shown again; `kind` says on which."""

    kind = ""
    note = long_text(_("What was changed"), rows=2, most=SHORT, missing=_("Say what was changed."))


class CancelForm(OnPage):
    """Cancel, keeping of the deposit what the terms say or less."""

    reason = why(_("Cancel: why, in words the customer reads"))

    def __init__(self, *args: Any, terms: Cancelling, **more: Any) -> None:
        super().__init__(*args, **more)
        currency = terms.kept.currency
        self.terms = terms
        self.fields["retained"] = AmountField(
            label=_("Kept, in %(currency)s") % {"currency": currency},
            currency=currency,
            initial=str(terms.kept.amount),
            help_text=_(
                "By the terms %(kept)s; you may keep less. The rest is owed back and is paid back from this page."
            )
            % {"kept": terms.kept},
        )

    def clean_retained(self) -> Any:
        kept = self.cleaned_data["retained"]
        if self.terms.kept < kept:
            raise forms.ValidationError(
                _("The terms that were accepted let you keep at most %(kept)s.") % {"kept": self.terms.kept}
            )
        return kept


class DispatchForm(OnPage):
    """Send it off."""

    carrier = forms.CharField(
        label=_("Carrier"), max_length=120, error_messages={"required": _("Enter who carries it.")}
    )
    tracking = forms.CharField(label=_("Tracking number (may be empty)"), required=False, max_length=120)

    def __init__(self, *args: Any, currency: str, unpaid: bool = False, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["freight_cost"] = AmountField(
            label=_("What the carrier asks, in %(currency)s before tax (empty while not known)")
            % {"currency": currency},
            currency=currency,
            required=False,
        )
        if unpaid:
            self.fields["on_account"] = forms.CharField(
                label=_("It is not paid. Send it all the same, because (may be empty)"),
                required=False,
                max_length=SHORT,
            )


class FreightForm(OnPage):
    """What carriage cost in the end."""

    def __init__(self, *args: Any, currency: str, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["freight_cost"] = AmountField(
            label=_("What the carrier asked, in %(currency)s before tax") % {"currency": currency},
            currency=currency,
            error_messages={"required": _("Enter the amount of the carrier's bill.")},
        )


class ChangeFeeForm(OnPage):
    """The fee for a change after the drawing was approved, or less."""

    reason = why(_("What is changed, in words the customer reads"))

    def __init__(self, *args: Any, fee: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["amount"] = AmountField(
            label=_("Fee in %(currency)s before tax, by the terms up to %(fee)s")
            % {"currency": fee.currency, "fee": fee},
            currency=fee.currency,
            initial=str(fee.amount),
        )


def transfer_form(row: Order, data: Any = None) -> TransferForm:
    """A transfer for one of the amounts asked for; those that are open come first, money beyond is the customer's credit."""
    asked: list[PaymentRequest] = sorted(
        row.payment_requests.order_by("asked_at"), key=lambda r: r.is_settled
    )
    choices = [(r.reference, f"{r.get_kind_display()} {r.reference}") for r in asked]
    today = {"received_on": timezone.localdate()}
    form = TransferForm(data, choices=choices, currency=row.currency, initial=today)
    form.awaited = any(not r.is_settled for r in asked)
    return form
