"""Freight: carriage by zone and chargeable weight, oversize, insurance and duty; and estimated against actual."""

from dataclasses import dataclass
from decimal import Decimal

from quoting.pricing.book import PriceBook
from quoting.pricing.lines import Category, Working
from quoting.pricing.minutes import crate_board
from quoting.pricing.money import Money, round_half_up
from quoting.pricing.takeoff import Item, pieces
from quoting.pricing.tally import exact, fact
from quoting.propeller.measures import Measures


def carriage(measures: Measures, book: PriceBook, zone: str, quantity: int, *, crated: bool) -> list[Item]:
    """Base charge, chargeable weight and oversize of one crate for each propeller."""
    number = pieces(quantity)
    base, weight = book.key_for("freight.base", zone), book.key_for("freight.weight", zone)
    heavy = chargeable_weight(measures, book, crated=crated)
    items = [
        Item(
            "freight.base",
            Category.FREIGHT,
            "carriage, base",
            number.value,
            "crate",
            book[base],
            (number, book.working(base)),
        ),
        Item(
            "freight.weight",
            Category.FREIGHT,
            "carriage, weight",
            heavy.value * quantity,
            "kg",
            book[weight],
            (heavy, number, book.working(weight)),
        ),
    ]
    length = exact(measures.crate_length, "crate_length")
    if length > book["freight.oversize_above"]:
        long = fact("crate length", length, "m", "geometry: crate_length")
        workings = (long, book.working("freight.oversize_above"), number, book.working("freight.oversize"))
        items.append(
            Item(
                "freight.oversize",
                Category.FREIGHT,
                "oversize",
                number.value,
                "crate",
                book["freight.oversize"],
                workings,
            )
        )
    return items


def chargeable_weight(measures: Measures, book: PriceBook, *, crated: bool) -> Working:
    """The greater of weight and dimensional weight of one crate, in kg to one decimal."""
    tare = crate_board(measures).value * book["freight.tare"] if crated else Decimal(0)
    actual = exact(measures.mass, "mass") + tare
    volume = exact(measures.crate_length * measures.crate_width * measures.crate_height, "crate", places=5)
    dimensional = volume * book["freight.dimensional"]
    which = "geometry: mass and crate" if actual >= dimensional else "geometry: crate volume"
    origin = f"{which}; price book {book.version}: freight.tare, freight.dimensional"
    return fact("chargeable weight", round_half_up(max(actual, dimensional), 1), "kg", origin)


def insurance(value: Money, book: PriceBook) -> Item:
    """Insurance in transit on the value of the goods, at least the least the insurer asks."""
    percent, least = book.working("freight.insurance"), book.working("freight.insurance_least")
    asked = max(value.times(percent.value / 100).amount, Money.rounded(least.value, value.currency).amount)
    insured = fact("value of the goods", value.amount, value.currency, "sum of the lines above freight")
    return Item(
        "freight.insurance",
        Category.FREIGHT,
        "insurance in transit",
        Decimal(1),
        "consignment",
        asked,
        (insured, percent, least),
    )


def duty(value: Money, book: PriceBook, zone: str) -> Item:
    """Import duty the shop expects to pay in the zone, on the value of the goods."""
    key = book.key_for("freight.duty", zone)
    percent = book.working(key)
    goods = fact("value of the goods", value.amount, value.currency, "sum of the lines above freight")
    asked = value.times(percent.value / 100).amount
    return Item(
        "freight.duty",
        Category.FREIGHT,
        "import duty, estimated",
        Decimal(1),
        "consignment",
        asked,
        (goods, percent),
    )


@dataclass(frozen=True, slots=True)
class FreightOutcome:
    """What freight cost against what was estimated; `share` is the difference over the estimate, None for no estimate."""

    estimated: Money
    actual: Money
    difference: Money
    share: Decimal | None


def freight_outcome(estimated: Money, actual: Money) -> FreightOutcome:
    """Estimated against actual freight cost; positive where it cost more. Raises ValueError across currencies."""
    difference = actual - estimated
    share = round_half_up(difference.amount / estimated.amount, 4) if estimated else None
    return FreightOutcome(estimated, actual, difference, share)
