"""The tax table at the desk: rates by destination and day; what is right is the accountant's to say."""

import re
from decimal import Decimal
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from orders.desk.doing import submitted
from orders.desk.forms import DayField, OnPage, plain_decimal
from orders.desk.roles import open_to
from orders.services import taxes
from orders.who import somebody
from quoting.models import TaxRate
from quoting.pricing.lines import Category
from quoting.pricing.money import round_half_up


class RateForm(OnPage):
    """One more rate."""

    country = forms.CharField(
        label=gettext_lazy("Destination"),
        max_length=2,
        help_text=gettext_lazy("Two letters such as DE, or * for everywhere that has no rate of its own."),
    )
    code = forms.CharField(
        label=gettext_lazy("Code"),
        max_length=20,
        help_text=gettext_lazy(
            "Stands on invoices, such as DE-19. A new rate under a code ends the old one."
        ),
    )
    label = forms.CharField(label=gettext_lazy("In words"), max_length=80)
    percent = forms.CharField(
        label=gettext_lazy("Percent"), max_length=10, widget=forms.TextInput(attrs={"inputmode": "decimal"})
    )
    valid_from = DayField(label=gettext_lazy("Holds from"))
    categories = forms.MultipleChoiceField(
        label=gettext_lazy("Only for lines of these kinds (none: for all that have no rate of their own)"),
        choices=[(c.value, c.value) for c in Category],
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def clean_country(self) -> str:
        country = str(self.cleaned_data["country"]).strip().upper()
        if not re.fullmatch(r"[A-Z]{2}|\*", country):
            raise forms.ValidationError(_("Give two letters such as DE, or * for everywhere else."))
        return country

    def clean_percent(self) -> Any:
        percent = plain_decimal(str(self.cleaned_data["percent"]), Decimal(100))
        if percent != round_half_up(percent, 3):
            raise forms.ValidationError(_("At most three decimals, such as 8.25."))
        return percent


class EndForm(OnPage):
    """The last day of a rate."""

    valid_to = DayField(label=gettext_lazy("Last day"))


@open_to("bookkeeper")
def table(request: HttpRequest) -> HttpResponse:
    """Every rate, those that hold today first."""
    return page(request)


def page(request: HttpRequest, *, status: int = 200, **given: Any) -> HttpResponse:
    today = timezone.localdate()
    rates = list(TaxRate.objects.all())
    rates.sort(key=lambda r: (r.valid_to is not None and r.valid_to < today, r.country, r.code, r.valid_from))
    ended: EndForm | None = given.pop("ending", None)
    for rate in rates:
        mine = ended is not None and ended.data.get("rate") == str(rate.pk)
        rate.end_form = ended if mine else EndForm(auto_id=f"end-{rate.pk}-%s")  # type: ignore[attr-defined]
        rate.holds_now = rate.holds_on(today)  # type: ignore[attr-defined]
        rate.is_past = rate.valid_to is not None and rate.valid_to < today  # type: ignore[attr-defined]
    context = {
        "rates": rates,
        "gaps": taxes.gaps(today),
        "rate_form": RateForm(),
        "may_decide": "owner" in somebody(request.user).roles,
        "now": timezone.now(),
    }
    return render(request, "desk/taxes.html", context | given, status=status)


@require_POST
@open_to()
def add(request: HttpRequest) -> HttpResponse:
    """Add a rate."""
    return submitted(
        request,
        RateForm(request.POST),
        lambda given: taxes.add_rate(
            somebody(request.user),
            **{**given, "categories": tuple(given["categories"])},
            now=timezone.now(),
        ),
        _("The rate is in the table; quotes from its day on take it."),
        lambda form: page(request, status=422, rate_form=form),
        "desk:taxes",
    )


@require_POST
@open_to()
def end(request: HttpRequest, pk: int) -> HttpResponse:
    """End a rate."""
    rate = get_object_or_404(TaxRate, pk=pk)
    data = request.POST.copy()
    data["rate"] = str(pk)
    return submitted(
        request,
        EndForm(data),
        lambda given: taxes.end_rate(
            somebody(request.user), rate, given["valid_to"], today=timezone.localdate(), now=timezone.now()
        ),
        _("The rate ends with that day."),
        lambda form: page(request, status=422, ending=form),
        "desk:taxes",
    )
