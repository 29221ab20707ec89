"""The workshop's own entry: the seller on every paper, the bank customers pay to, and the terms the owner chooses."""

from dataclasses import asdict, dataclass
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from orders.models import Order, Workshop
from orders.refusal import Refused
from orders.services import audit
from orders.who import OWNER, Who

MOST_DAYS = 180


@dataclass(frozen=True, slots=True)
class Details:
    """What the owner enters; `deposit_tax` is a value of Workshop.DepositTax, days are calendar days."""

    name: str
    street: str
    postcode: str
    city: str
    country: str
    email: str
    phone: str
    tax_id: str
    bank_details: str
    deposit_tax: str
    payment_days: int
    quote_days: int


@transaction.atomic
def change_details(who: Who, given: Details, *, now: datetime) -> None:
    """Change the workshop's entry; papers already made keep what they say. Raises Refused at the field that cannot be."""
    who.must_be(OWNER)
    row = Workshop.objects.select_for_update().get()
    values = {
        name: value.strip() if isinstance(value, str) else value for name, value in asdict(given).items()
    }
    _check(given, row)
    changed = {name: [getattr(row, name), new] for name, new in values.items() if getattr(row, name) != new}
    if not changed:
        return
    Workshop.objects.filter(pk=row.pk).update(**values)
    audit.record(who, "change details", "the workshop", now=now, detail=changed)


def _check(given: Details, row: Workshop) -> None:
    if not given.name.strip():
        raise Refused("name", _("Write the workshop's name."), status=400, field="name")
    country = given.country
    if not (len(country) == 2 and country.isascii() and country.isalpha() and country.isupper()):
        raise Refused(
            "country", _("Enter the country's two letters, such as DE."), status=400, field="country"
        )
    for field in ("payment_days", "quote_days"):
        if not 1 <= getattr(given, field) <= MOST_DAYS:
            said = _("Enter whole days from 1 to %(most)d.") % {"most": MOST_DAYS}
            raise Refused("days", said, status=400, field=field)
    if given.deposit_tax not in Workshop.DepositTax.values:
        raise Refused("deposit-tax", _("Choose one of the two."), status=400, field="deposit_tax")
    if given.deposit_tax != row.deposit_tax and (open_deposits := _paid_and_open()):
        said = _("Orders with a deposit are open: %(orders)s. Change it when they are delivered.")
        raise Refused(
            "deposits-open", said % {"orders": ", ".join(open_deposits)}, status=400, field="deposit_tax"
        )


def _paid_and_open() -> list[str]:
    """Orders whose deposit was booked by the choice that stands and is not settled yet."""
    ended = [Order.State.DISPATCHED, Order.State.CANCELLED]
    orders = Order.objects.exclude(state__in=ended).filter(payments__isnull=False).distinct()
    return list(orders.order_by("number").values_list("number", flat=True)[:5])
