"""The owner's tax table: rates by destination and day, entered and ended, never altered where they held."""

from datetime import date, datetime, timedelta
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction

from orders.refusal import Refused
from orders.services import audit
from orders.who import OWNER, Who
from quoting.models import TaxRate
from quoting.pricing.refusal import Refused as PriceRefused
from quoting.pricing.tax import ANYWHERE, rates_for
from quoting.services.pricebook import tax_rows


@transaction.atomic
def add_rate(
    who: Who,
    *,
    country: str,
    code: str,
    label: str,
    percent: Decimal,
    valid_from: date,
    categories: tuple[str, ...] = (),
    now: datetime,
) -> TaxRate:
    """A rate that holds from a day on; the one of the same code before it ends the day before.

    Raises Refused at the field, and where two rates would claim the same lines on any day from then on.
    """
    who.must_be(OWNER)
    same = TaxRate.objects.select_for_update().filter(country=country, code=code)
    if same.filter(valid_from__gte=valid_from).exists():
        raise Refused(
            "later-rate", "A rate of this code already begins on or after this day.", status=400, field="valid_from"
        )  # fmt: skip
    before = same.order_by("-valid_from").first()
    if before is not None and before.holds_on(valid_from):
        same.filter(pk=before.pk).update(valid_to=valid_from - timedelta(days=1))
    made = TaxRate(
        country=country, code=code, label=label.strip(), percent_milli=int(percent.scaleb(3)),
        valid_from=valid_from, categories=sorted(categories),
    )  # fmt: skip
    try:
        made.full_clean()
    except ValidationError as faults:
        field, said = next(iter(faults.message_dict.items()))
        raise Refused("rate", said[0], status=400, field=field) from faults
    made.save()
    _claims_once(country, valid_from)
    audit.record(
        who, "add", f"tax rate {code}", now=now,
        detail={"country": country, "percent": str(percent), "from": valid_from.isoformat()},
    )  # fmt: skip
    return made


@transaction.atomic
def end_rate(who: Who, rate: TaxRate, last: date, *, today: date, now: datetime) -> None:
    """Let a rate end with a day that is not past; what was quoted keeps the rate it was quoted with."""
    who.must_be(OWNER)
    rate = TaxRate.objects.select_for_update().get(pk=rate.pk)
    if last < max(rate.valid_from, today - timedelta(days=1)):
        raise Refused(
            "day-past", "It has held until today; end it yesterday or later.", status=400, field="valid_to"
        )
    if rate.valid_to is not None and rate.valid_to < today:
        raise Refused("ended", f"It ended on {rate.valid_to.isoformat()}.", status=400, field="valid_to")
    TaxRate.objects.filter(pk=rate.pk).update(valid_to=last)
    audit.record(who, "end", f"tax rate {rate.code}", now=now, detail={"last": last.isoformat()})


def gaps(today: date) -> list[str]:
    """In words, every destination of the table for which no rate or more than one holds today."""
    rows = tax_rows()
    found = []
    for country in sorted({row.country for row in rows}):
        held = [row for row in rows if row.country == country and row.holds(today)]
        if not held and country != ANYWHERE:
            continue
        try:
            rates_for(held, country, today)
        except PriceRefused as refused:
            found.append(refused.finding.message)
    return found


def _claims_once(country: str, first: date) -> None:
    """Raise Refused where two rates claim the same lines on the day a rate begins, or later."""
    rows = [row for row in tax_rows() if row.country == country]
    days = sorted({first, *(row.valid_from for row in rows if row.valid_from > first)})
    for day in days:
        held = [row for row in rows if row.holds(day)]
        claimed = [c for row in held for c in (row.categories or ("",))]
        if len(claimed) != len(set(claimed)):
            names = ", ".join(row.code for row in held)
            raise Refused(
                "claimed-twice",
                f"On {day.isoformat()} {names} would hold for the same lines; end the other one first.",
                status=400,
                field="code",
            )
