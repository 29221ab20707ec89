"""Timber lots: what came onto the shelf, corrected and used up; and which orders wait for timber beside them."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from orders.models import Order, TimberLot, TimberWait, Workshop
from orders.refusal import Refused
from orders.services import audit
from orders.who import OWNER, Who
from quoting.pricing.money import Money
from quoting.services.catalogue import catalogue
from quoting.services.quotes import specification_of

MOST_FEET = 100_000
WETTEST = Decimal(100)


@dataclass(frozen=True, slots=True)
class Lot:
    """What is written down of a lot: volume in board feet, moisture in percent with at most one decimal."""

    lot: str
    timber_code: str
    boards: str
    board_feet: int
    moisture: Decimal
    price: Money | None
    received_on: date
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Wanting:
    """An order that waits on timber, the timber it wants, and the board feet of it that are on the shelf."""

    order: Order
    since: datetime
    timber: str
    on_shelf: int


@transaction.atomic
def add_lot(who: Who, given: Lot, *, today: date, now: datetime) -> TimberLot:
    """A lot that came. Raises Refused at the field that cannot be."""
    who.must_be(OWNER)
    values = _values(given, None, today)
    made = TimberLot.objects.create(**values)
    audit.record(who, "add", f"timber lot {made.lot}", now=now, detail=_readable(values))
    return made


@transaction.atomic
def change_lot(who: Who, row: TimberLot, given: Lot, *, today: date, now: datetime) -> None:
    """Correct what is written down of a lot. Raises Refused at the field that cannot be."""
    who.must_be(OWNER)
    row = TimberLot.objects.select_for_update().get(pk=row.pk)
    values = _values(given, row, today)
    changed = {name: value for name, value in values.items() if getattr(row, name) != value}
    TimberLot.objects.filter(pk=row.pk).update(**values)
    audit.record(who, "change", f"timber lot {row.lot}", now=now, detail=_readable(changed))


@transaction.atomic
def use_up(who: Who, row: TimberLot, *, today: date, now: datetime) -> None:
    """Nothing is left of a lot; what was built of it keeps its number."""
    who.must_be(OWNER)
    if TimberLot.objects.filter(pk=row.pk, used_up_on=None).update(used_up_on=today) != 1:
        raise Refused("used-up", _("%(lot)s is used up already.") % {"lot": row.lot})
    audit.record(who, "use up", f"timber lot {row.lot}", now=now)


@transaction.atomic
def put_back(who: Who, row: TimberLot, *, now: datetime) -> None:
    """There is some of the lot left after all."""
    who.must_be(OWNER)
    if TimberLot.objects.filter(pk=row.pk).exclude(used_up_on=None).update(used_up_on=None) != 1:
        raise Refused("on-shelf", _("%(lot)s is on the shelf.") % {"lot": row.lot})
    audit.record(who, "put back", f"timber lot {row.lot}", now=now)


def on_shelf() -> dict[str, int]:
    """Board feet on the shelf by the catalogue's code of the timber."""
    feet: dict[str, int] = {}
    for lot in TimberLot.objects.filter(used_up_on=None):
        feet[lot.timber_code] = feet.get(lot.timber_code, 0) + lot.board_feet
    return feet


def wanting() -> list[Wanting]:
    """The orders that wait on timber, the longest first."""
    shelf = on_shelf()
    waits = TimberWait.objects.filter(until=None).select_related("order__quote", "order__customer")
    found = []
    for wait in waits.order_by("since"):
        timber = specification_of(wait.order.quote).timber
        found.append(Wanting(wait.order, wait.since, timber.name, shelf.get(timber.code, 0)))
    return found


def _values(given: Lot, row: TimberLot | None, today: date) -> dict[str, object]:
    """The columns of a lot; raises Refused at the field that cannot be."""
    lot = " ".join(given.lot.split())
    if not lot:
        raise Refused(
            "lot", _("Write the lot's number, as it stands on the boards."), status=400, field="lot"
        )
    if TimberLot.objects.filter(lot__iexact=lot).exclude(pk=row.pk if row else 0).exists():
        raise Refused("lot", _("There is a lot of this number already."), status=400, field="lot")
    if given.timber_code not in catalogue().timbers:
        raise Refused("timber", _("Choose a timber of the catalogue."), status=400, field="timber_code")
    if not 1 <= given.board_feet <= MOST_FEET:
        said = _("Enter whole board feet from 1 to %(most)d.") % {"most": MOST_FEET}
        raise Refused("board-feet", said, status=400, field="board_feet")
    tenths = given.moisture * 10
    if not 0 < given.moisture <= WETTEST or tenths != int(tenths):
        said = _("Enter percent of the dry weight up to 100 with at most one decimal, such as 9.5.")
        raise Refused("moisture", said, status=400, field="moisture")
    if given.received_on > today:
        raise Refused("received", _("This day has not come yet."), status=400, field="received_on")
    if given.price is not None and given.price.currency != Workshop.objects.get().currency:
        raise Refused("currency", _("Enter the price in the workshop's currency."), status=400, field="price")
    return {
        "lot": lot,
        "timber_code": given.timber_code,
        "boards": given.boards.strip(),
        "board_feet": given.board_feet,
        "moisture": int(tenths),
        "price": given.price.minor if given.price is not None else None,
        "received_on": given.received_on,
        "remark": given.remark.strip(),
    }


def _readable(values: dict[str, object]) -> dict[str, object]:
    return {name: value.isoformat() if isinstance(value, date) else value for name, value in values.items()}
