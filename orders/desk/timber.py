"""Timber at the desk: the lots on the shelf, a lot that came, and the orders that wait on timber."""

from decimal import Decimal
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from orders.desk.doing import do, submitted
from orders.desk.forms import AmountField, DayField, plain_decimal
from orders.desk.roles import open_to
from orders.desk.shop_forms import WholeField
from orders.models import TimberLot, Workshop
from orders.services import timber
from orders.who import somebody
from quoting.pricing.money import Money
from quoting.services.catalogue import catalogue

USED_UP_SHOWN = 30


class LotForm(forms.Form):
    """One lot of one timber."""

    lot = forms.CharField(
        label=gettext_lazy("Lot"),
        max_length=30,
        help_text=gettext_lazy("As it stands on the boards; the bench writes it into the build record."),
    )
    boards = forms.CharField(
        label=gettext_lazy("Boards (may be empty)"),
        max_length=160,
        required=False,
        help_text=gettext_lazy("Number and sizes, such as 14 boards 25 x 180 mm, 2.4 m."),
    )
    board_feet = WholeField(label=gettext_lazy("Board feet"), most=timber.MOST_FEET)
    moisture = forms.CharField(
        label=gettext_lazy("Moisture when it came, in percent"),
        max_length=6,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )
    received_on = DayField(label=gettext_lazy("Came on"))
    remark = forms.CharField(label=gettext_lazy("Remark (may be empty)"), max_length=160, required=False)

    def __init__(self, *args: Any, currency: str, row: TimberLot | None = None, **more: Any) -> None:
        if row:
            more["initial"] = {name: getattr(row, name) for name in (*self.base_fields, "timber_code")}
            more["initial"] |= {
                "moisture": f"{row.moisture / 10:g}",
                "price": Money.from_minor(row.price, currency).amount if row.price is not None else "",
            }
        super().__init__(*args, **more)
        self.fields["timber_code"] = forms.ChoiceField(
            label=_("Timber"), choices=[(code, row.name) for code, row in catalogue().timbers.items()]
        )
        self.fields["price"] = AmountField(
            label=_("Paid for it in %(currency)s, before tax (may be empty)") % {"currency": currency},
            currency=currency,
            required=False,
        )
        self.order_fields(["lot", "timber_code", "boards", "board_feet", "moisture", "received_on", "price"])

    def clean_moisture(self) -> Decimal:
        return plain_decimal(str(self.cleaned_data["moisture"]), timber.WETTEST)


@open_to()
def shelf(request: HttpRequest) -> HttpResponse:
    """The lots on the shelf, and the orders that wait."""
    return page(request)


def page(request: HttpRequest, form: LotForm | None = None, pk: int = 0) -> HttpResponse:
    """Every lot with its form; a form given back stands at the lot `pk`, or at the new one."""
    currency = get_object_or_404(Workshop).currency
    names = {code: row.name for code, row in catalogue().timbers.items()}
    context = {
        "lots": [
            (
                row,
                names.get(row.timber_code, row.timber_code),
                form
                if form and pk == row.pk
                else LotForm(currency=currency, row=row, auto_id=f"lot-{row.pk}-%s"),
            )
            for row in TimberLot.objects.filter(used_up_on=None)
        ],
        "used_up": [
            (row, names.get(row.timber_code, row.timber_code))
            for row in TimberLot.objects.exclude(used_up_on=None).order_by("-used_up_on")[:USED_UP_SHOWN]
        ],
        "totals": [(names.get(code, code), feet) for code, feet in sorted(timber.on_shelf().items())],
        "wanting": timber.wanting(),
        "new_lot": form if form and not pk else LotForm(currency=currency, auto_id="new-lot-%s"),
        "currency": currency,
        "now": timezone.now(),
    }
    return render(request, "desk/timber.html", context, status=422 if form and form.errors else 200)


@require_POST
@open_to()
def lot(request: HttpRequest, pk: int = 0) -> HttpResponse:
    """Write down a lot that came, or correct one."""
    row = get_object_or_404(TimberLot, pk=pk) if pk else None
    who, now, today = somebody(request.user), timezone.now(), timezone.localdate()
    currency = get_object_or_404(Workshop).currency
    return submitted(
        request,
        LotForm(request.POST, currency=currency, auto_id=f"lot-{pk}-%s" if pk else "new-lot-%s"),
        lambda given: (
            timber.change_lot(who, row, timber.Lot(**given), today=today, now=now)
            if row
            else timber.add_lot(who, timber.Lot(**given), today=today, now=now)
        ),
        _("Kept."),
        lambda wrong: page(request, wrong, pk),
        "desk:timber",
    )


@require_POST
@open_to()
def used_up(request: HttpRequest, pk: int) -> HttpResponse:
    """Nothing is left of a lot."""
    row = get_object_or_404(TimberLot, pk=pk)
    return do(
        request,
        lambda: timber.use_up(somebody(request.user), row, today=timezone.localdate(), now=timezone.now()),
        _("Used up; it stays in the records."),
        "desk:timber",
    )


@require_POST
@open_to()
def put_back(request: HttpRequest, pk: int) -> HttpResponse:
    """There is some of it left after all."""
    row = get_object_or_404(TimberLot, pk=pk)
    return do(
        request,
        lambda: timber.put_back(somebody(request.user), row, now=timezone.now()),
        _("Back on the shelf."),
        "desk:timber",
    )
