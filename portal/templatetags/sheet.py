"""How figures stand on a page: money with its currency, lengths in either unit, dates, ink shapes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django import template
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext, gettext_lazy

from orders.services.measurements import NAMED
from orders.words import SPACE, amount_words, day_words, grouped, money_words
from quoting.pricing.lines import Line, Price
from quoting.pricing.money import Money, total
from quoting.pricing.summary import grouped as grouped_lines
from quoting.propeller.finding import Finding, Severity

register = template.Library()

INCH = 0.0254

SHAPES = {
    "note": '<path class="line" d="M3 11l4.5 4.5L17 5"/>',
    "not checked": '<circle class="dashed" cx="10" cy="10" r="7.5"/><path class="line" d="M6.5 10h7"/>',
    "caution": '<path class="line" d="M10 2.2l8.4 15H1.6z"/><path class="line" d="M10 7.6v4.6M10 14.6v.3"/>',
    "stop": '<path class="solid" d="M6 1h8l5 5v8l-5 5H6l-5-5V6z"/><path class="on-solid" d="M5.5 10h9"/>',
    "done": '<path class="solid" d="M2 2h16v16H2z"/><path class="on-solid" d="M5.5 10.5l3 3 6-7"/>',
    "in work": '<path class="line" d="M2 2h16v16H2z"/><path class="solid" d="M2 18V2l16 16z"/>',
    "waiting": '<path class="line" d="M2 2h16v16H2z"/>',
    "held": '<path class="line" d="M2 2h16v16H2z"/><path class="line" d="M7.5 6v8M12.5 6v8"/>',
    "off": '<path class="line" d="M2 2h16v16H2zM6 6l8 8M14 6l-8 8"/>',
    "wanted": '<path class="solid" d="M2 4h9V0l8 10-8 10v-4H2z"/>',
    "fixed": '<circle class="solid" cx="10" cy="7" r="5.5"/><path class="line" d="M10 12v7"/>',
}
"""One ink shape for each kind of state, on a 20 x 20 field; always shown with its word."""

WORDS = {
    "note": gettext_lazy("Note"),
    "not checked": gettext_lazy("Not checked"),
    "caution": gettext_lazy("Caution"),
    "stop": gettext_lazy("Stop"),
    "done": gettext_lazy("done"),
    "in work": gettext_lazy("in work"),
    "waiting": gettext_lazy("to come"),
    "held": gettext_lazy("held"),
    "off": gettext_lazy("ended"),
    "wanted": gettext_lazy("Wanted from you"),
    "fixed": gettext_lazy("fixed"),
}


GROUPS = {
    "timber": gettext_lazy("Timber"),
    "finish": gettext_lazy("Glue, varnish and abrasives"),
    "work": gettext_lazy("Work at the bench"),
    "options": gettext_lazy("Guard, bolts and decals"),
    "artwork": gettext_lazy("Decal artwork"),
    "sending": gettext_lazy("Crate and freight"),
    "rush": gettext_lazy("Going first"),
    "discount": gettext_lazy("Discount"),
    "rounding": gettext_lazy("Rounding"),
}
"""The groups of a price's summary, in the reader's language."""


@dataclass(frozen=True, slots=True)
class LineGroup:
    """Price lines of one group of the summary and their sum; `minutes` of work where it is work."""

    label: str
    net: Money
    lines: tuple[Line, ...]
    minutes: int

    @property
    def cost(self) -> Money:
        """What the lines cost the shop."""
        return total((line.cost for line in self.lines), self.net.currency)

    @property
    def is_by_hand(self) -> bool:
        """Whether a line of it was set by the workshop."""
        return any(line.reason for line in self.lines)


def as_money(value: Money | int | None, currency: str = "") -> Money | None:
    """Money as it is, or made from integer minor units and a currency code."""
    if value is None or isinstance(value, Money):
        return value
    return Money.from_minor(int(value), currency)


@register.filter
def amount(value: Money | int | None, currency: str = "") -> str:
    """An amount without its currency, for a table whose caption names it."""
    money_value = as_money(value, currency)
    if money_value is None:
        return "\N{EN DASH}"
    return amount_words(money_value)


@register.filter
def money(value: Money | int | None, currency: str = "") -> str:
    """An amount with its currency: `{{ quote.gross|money:quote.currency }}` gives 1 284.84 EUR."""
    money_value = as_money(value, currency)
    if money_value is None:
        return "\N{EN DASH}"
    return money_words(money_value)


@register.filter
def signed(value: Money | int | None, currency: str = "") -> str:
    """An amount without its currency that says whether it is more or less."""
    money_value = as_money(value, currency)
    plus = "+" if money_value is not None and money_value.amount > 0 else ""
    return plus + amount(value, currency)


@register.filter
def hundred(share: Decimal | None) -> str:
    """A share in percent, with at most one decimal and without its sign."""
    return "" if share is None else plain(100 * share, 1)


@register.filter
def measure(metres: float | None, units: str = "in") -> str:
    """A length held in metres as `69.0 in` or `1 753 mm`; small ones to a hundredth of an inch, a tenth of a mm."""
    if metres is None:
        return "\N{EN DASH}"
    small = abs(metres) < 0.5
    if units == "mm":
        return f"{grouped(metres * 1000, 1 if small else 0)}{SPACE}mm"
    return f"{grouped(metres / INCH, 2 if small else 1)}{SPACE}in"


@register.filter
def inches(metres: float | None) -> str:
    """Bare inches to at most one decimal, as sizes are written."""
    if metres is None:
        return "?"
    value = round(metres / INCH, 1)
    return grouped(value, 0 if value == int(value) else 1)


@register.simple_tag
def size(diameter: float | None, pitch: float | None) -> str:
    """Diameter x pitch in inches with millimetres beside: `72 x 44 in (1 829 x 1 118 mm)`."""
    if diameter is None or pitch is None:
        return gettext("size to be recommended")
    metric = f"{grouped(diameter * 1000, 0)} x {grouped(pitch * 1000, 0)}{SPACE}mm"
    return f"{inches(diameter)} x {inches(pitch)}{SPACE}in ({metric})"


@register.filter
def mass(kilograms: float | None, units: str = "in") -> str:
    """A mass held in kilograms, in pounds where lengths are in inches."""
    if kilograms is None:
        return "\N{EN DASH}"
    if units == "mm":
        return f"{grouped(kilograms, 2)}{SPACE}kg"
    return f"{grouped(kilograms / 0.45359237, 2)}{SPACE}lb"


@register.filter
def plain(value: Any, digits: int = 3) -> str:
    """A figure without needless zeros: at most `digits` decimals."""
    if value is None or value == "":
        return "\N{EN DASH}"
    text = f"{Decimal(str(value)):.{digits}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    decimals = len(text.partition(".")[2])
    return grouped(Decimal(text), decimals)


@register.filter
def measured(stored: Mapping[str, Any]) -> str:
    """A record's measurements by name and with their units: `Bolt circle 99 mm; bolt hole 8.1 mm`."""
    said = "; ".join(_measured(key, value) for key, value in stored.items())
    return said[:1].upper() + said[1:]


def _measured(key: str, value: Any) -> str:
    known = NAMED.get(key)
    if known is None:
        return f"{key} {value}"
    label = gettext(known.label)
    label = label[:1].lower() + label[1:]
    if known.is_text:
        return f"{label} {value}"
    gap = "" if known.unit in ("", "\N{DEGREE SIGN}") else SPACE
    return f"{label} {plain(value)}{gap}{known.unit}"


@register.filter
def clock(minutes: int | None) -> str:
    """Minutes of work as `11 h 40 min`."""
    if minutes is None:
        return "\N{EN DASH}"
    hours, left = divmod(int(minutes), 60)
    if not hours:
        return f"{left}{SPACE}min"
    return f"{hours}{SPACE}h" + (f" {left:02}{SPACE}min" if left else "")


@register.filter
def day(value: date | datetime | str | None) -> str:
    """A day in words: 28 March 2027. Takes ISO text too, as stored results hold it."""
    if not value:
        return "\N{EN DASH}"
    if isinstance(value, str):
        value = datetime.fromisoformat(value)
    return day_words(value)


@register.filter
def moment(value: datetime | str | None) -> str:
    """A point in time as title blocks write it: 2026-11-25 10:40."""
    if not value:
        return "\N{EN DASH}"
    if isinstance(value, str):
        value = datetime.fromisoformat(value)
    if isinstance(value, datetime):
        local = timezone.localtime(value) if timezone.is_aware(value) else value
        return local.strftime("%Y-%m-%d %H:%M")
    return f"{value:%Y-%m-%d}"


@register.simple_tag
def shape(name: str) -> SafeString:
    """The ink shape of a state or severity; its word must stand beside it."""
    drawn = mark_safe(SHAPES.get(str(name), SHAPES["waiting"]))  # noqa: S308 our own constant
    return format_html(
        '<svg class="shape" viewBox="0 0 20 20" width="20" height="20" aria-hidden="true">{}</svg>', drawn
    )


@register.simple_tag
def state(name: str, word: str = "") -> SafeString:
    """Shape and word together: `{% state "held" order.get_state_display %}`."""
    return format_html('<span class="state">{} {}</span>', shape(name), word or WORDS.get(str(name), name))


@register.filter
def severity_word(severity: str) -> str:
    """The word shown with a finding's shape."""
    return str(WORDS.get(str(severity), severity))


@register.filter
def severity_class(severity: str) -> str:
    return str(severity).replace(" ", "-")


@register.filter
def line_groups(price: Price) -> list[LineGroup]:
    """The lines of a price in the groups of its summary, as on the quote's paper; they sum to the net exactly."""
    return [
        LineGroup(
            str(GROUPS[row.key]),
            row.amount,
            lines,
            round(row.quantity * 60) if row.key == "work" and row.quantity is not None else 0,
        )
        for row, lines in grouped_lines(price)
    ]


@register.filter
def holds(group: LineGroup, key: str) -> bool:
    """Whether a line of this key is in the group."""
    return any(line.key == key for line in group.lines)


@register.filter
def day_typed(value: date | str) -> str:
    """A day in words, or as typed where it is no day."""
    try:
        return day(value)
    except ValueError:
        return str(value)


@register.filter
def pressing(findings: Sequence[Finding]) -> list[Finding]:
    """What must be read: stops, cautions and what was not checked."""
    return [finding for finding in findings if finding.severity != Severity.NOTE]


@register.filter
def notes(findings: Sequence[Finding]) -> list[Finding]:
    """What may be read: checks that passed and remarks."""
    return [finding for finding in findings if finding.severity == Severity.NOTE]
