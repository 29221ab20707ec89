"""The customer's summary of a price: a few groups that are fair to read and sum exactly to the net."""

from dataclasses import dataclass
from decimal import Decimal

from quoting.pricing.lines import Category, Line, Price
from quoting.pricing.money import Money, total


@dataclass(frozen=True, slots=True)
class SummaryLine:
    """One group: what it is, how much of it (None where a number would say nothing), and its amount."""

    key: str
    label: str
    quantity: Decimal | None
    unit: str
    amount: Money


LABELS = {
    "timber": "timber",
    "finish": "glue, varnish and abrasives",
    "work": "work at the bench",
    "options": "guard, bolts and decals",
    "artwork": "decal artwork",
    "sending": "crate and freight",
    "rush": "going first",
    "discount": "discount",
    "rounding": "rounding",
}

_GROUPS = {
    Category.LABOUR: "work",
    Category.SHOP: "work",
    Category.MARGIN: "work",
    Category.OPTION: "options",
    Category.ARTWORK: "artwork",
    Category.CRATE: "sending",
    Category.FREIGHT: "sending",
    Category.RUSH: "rush",
    Category.DISCOUNT: "discount",
}


def summary(price: Price) -> tuple[SummaryLine, ...]:
    """Groups of lines in a fixed order; their amounts sum exactly to `price.net`.

    Labour, shop rate and least margin are one: what an hour of work costs the customer. Discounts and rounding stand
    apart, so that nothing is hidden in a group.
    """
    return tuple(row for row, _ in grouped(price))


def grouped(price: Price) -> tuple[tuple[SummaryLine, tuple[Line, ...]], ...]:
    """Each group of the summary with its lines; every line is in one group."""
    found: dict[str, list[Line]] = {group: [] for group in LABELS}
    for line in price.lines:
        found[group_of(line.category, line.key)].append(line)
    return tuple(
        (_sum(group, lines, price.currency), tuple(lines)) for group, lines in found.items() if lines
    )


def group_of(category: Category, key: str) -> str:
    """The group of a line by its category and key."""
    if category is Category.MATERIAL:
        return "timber" if key == "timber" else "finish"
    if key.partition(".")[0] == "rounding":
        return "rounding"
    return _GROUPS[category]


def _sum(group: str, lines: list[Line], currency: str) -> SummaryLine:
    amount = total((line.net for line in lines), currency)
    if group == "timber":
        return SummaryLine(group, f"timber: {lines[0].label}", _quantity(lines), lines[0].unit, amount)
    if group == "work":
        hours = _quantity([line for line in lines if line.category is Category.LABOUR])
        return SummaryLine(group, LABELS[group], hours, "h", amount)
    return SummaryLine(group, LABELS[group], None, "", amount)


def _quantity(lines: list[Line]) -> Decimal:
    return sum((line.quantity for line in lines), Decimal(0))
