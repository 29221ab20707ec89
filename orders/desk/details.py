"""The workshop's own entry at the desk: the seller on every paper, the bank customers pay to, days and deposit's tax."""

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from orders.desk.doing import submitted
from orders.desk.roles import open_to
from orders.desk.shop_forms import WholeField
from orders.models import Workshop
from orders.services import details
from orders.who import somebody


class DetailsForm(forms.Form):
    """The workshop's entry; nothing of it is written into papers already made."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    street = forms.CharField(label=gettext_lazy("Street and number"), max_length=160, required=False)
    postcode = forms.CharField(label=gettext_lazy("Postcode"), max_length=20, required=False)
    city = forms.CharField(label=gettext_lazy("Town"), max_length=120, required=False)
    country = forms.CharField(
        label=gettext_lazy("Country"),
        max_length=2,
        help_text=gettext_lazy("Two letters such as DE; a quote to the same country is a sale at home."),
    )
    email = forms.EmailField(
        label=gettext_lazy("E-mail"),
        required=False,
        help_text=gettext_lazy("Stands on papers; alerts go here while no owner has an address."),
    )
    phone = forms.CharField(label=gettext_lazy("Telephone"), max_length=40, required=False)
    tax_id = forms.CharField(label=gettext_lazy("Tax number"), max_length=40, required=False)
    bank_details = forms.CharField(
        label=gettext_lazy("Bank details"),
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=gettext_lazy(
            "As customers are to read them: holder, IBAN or account, BIC. Without them nobody can pay by transfer."
        ),
    )
    payment_days = WholeField(
        label=gettext_lazy("Days to pay"),
        most=details.MOST_DAYS,
        help_text=gettext_lazy("From the day a deposit or balance is asked for."),
    )
    quote_days = WholeField(
        label=gettext_lazy("Days a quote holds"),
        most=details.MOST_DAYS,
        help_text=gettext_lazy("From the day it is sent."),
    )
    deposit_tax = forms.ChoiceField(
        label=gettext_lazy("Tax of a deposit"),
        choices=Workshop.DepositTax.choices,
        help_text=gettext_lazy("Your accountant says which one holds for you."),
    )

    def clean_country(self) -> str:
        return str(self.cleaned_data["country"]).upper()


@open_to()
def show(request: HttpRequest) -> HttpResponse:
    """The workshop's entry."""
    row = get_object_or_404(Workshop)
    return page(request, DetailsForm(initial={name: getattr(row, name) for name in DetailsForm.base_fields}))


def page(request: HttpRequest, form: DetailsForm) -> HttpResponse:
    context: dict[str, Any] = {
        "form": form,
        "workshop": get_object_or_404(Workshop),
        "address_fields": [form[name] for name in ("street", "postcode", "city", "country")],
        "reach_fields": [form[name] for name in ("email", "phone", "tax_id")],
        "rule_fields": [form[name] for name in ("payment_days", "quote_days")],
        "now": timezone.now(),
    }
    return render(request, "desk/details.html", context, status=422 if form.errors else 200)


@require_POST
@open_to()
def change(request: HttpRequest) -> HttpResponse:
    """Change the workshop's entry."""
    return submitted(
        request,
        DetailsForm(request.POST),
        lambda given: details.change_details(
            somebody(request.user), details.Details(**given), now=timezone.now()
        ),
        _("Kept; papers made from now on say so."),
        lambda wrong: page(request, wrong),
        "desk:details",
    )
