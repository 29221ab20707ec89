"""Two revisions of a quote side by side: what changed in inputs, lines, totals, dates and findings. Stores nothing."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.utils import timezone

from orders.services.pictures import propeller_summary
from quoting.models import Quote
from quoting.pricing.lines import Line
from quoting.pricing.money import Money
from quoting.propeller.finding import Finding
from quoting.propeller.specification import Specification
from quoting.services.quotes import Results, results_of, specification_of

TOTALS = (
    ("net", "Before tax"),
    ("tax", "Tax"),
    ("gross", "With tax"),
    ("deposit", "Deposit"),
    ("balance", "Balance"),
)


@dataclass(frozen=True, slots=True)
class Change:
    """One figure or word that differs; "" where one side has none."""

    what: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class LineChange:
    """One price line that differs; None where one revision has no such line."""

    label: str
    before: Line | None
    after: Line | None
    difference: Money


@dataclass(frozen=True, slots=True)
class Total:
    what: str
    before: Money
    after: Money

    @property
    def difference(self) -> Money:
        return self.after - self.before


@dataclass(frozen=True, slots=True)
class Dated:
    what: str
    before: date | None
    after: date | None

    @property
    def days(self) -> int | None:
        """Days later, negative for sooner; None where one side has no day."""
        return (self.after - self.before).days if self.before and self.after else None


@dataclass(frozen=True, slots=True)
class Comparison:
    """`inputs`, `lines` and `dates` hold only what differs, `totals` all; `same` counts lines that are as before.

    `otherwise` are findings of the later revision that read differently in the earlier one.
    """

    before: Quote
    after: Quote
    inputs: tuple[Change, ...]
    typed: tuple[Change, ...]
    lines: tuple[LineChange, ...]
    same: int
    totals: tuple[Total, ...]
    dates: tuple[Dated, ...]
    found: tuple[Finding, ...]
    gone: tuple[Finding, ...]
    otherwise: tuple[Finding, ...]
    basis: tuple[Change, ...]

    @property
    def is_same(self) -> bool:
        """Whether nothing but day and number differs."""
        return not (self.inputs or self.typed or self.lines or self.found or self.gone or self.otherwise)


def compare(before: Quote, after: Quote) -> Comparison:
    """What the later revision changed. Raises ValueError for quotes of two series: they are no revisions of each other."""
    if before.series_id != after.series_id:
        raise ValueError("only revisions of one quote are compared")
    old, new = results_of(before), results_of(after)
    lines, same = _lines(old, new, before.currency)
    return Comparison(
        before=before,
        after=after,
        inputs=differing(
            inputs_of(specification_of(before), old) | _said(before),
            inputs_of(specification_of(after), new) | _said(after),
        ),
        typed=differing(_typed(before), _typed(after)),
        lines=lines,
        same=same,
        totals=tuple(Total(words, getattr(before, name), getattr(after, name)) for name, words in TOTALS),
        dates=_dates((before, old), (after, new)),
        found=_only_in(new.findings, old.findings),
        gone=_only_in(old.findings, new.findings),
        otherwise=_otherwise(old.findings, new.findings),
        basis=differing(_basis(before, old), _basis(after, new)),
    )


def differing(before: Mapping[str, str], after: Mapping[str, str]) -> tuple[Change, ...]:
    """What differs between two sets of rows, in the order of the first, then of the second."""
    keys = [*before, *(k for k in after if k not in before)]
    return tuple(
        Change(k, before.get(k, ""), after.get(k, "")) for k in keys if before.get(k, "") != after.get(k, "")
    )


def inputs_of(specification: Specification, results: Results) -> dict[str, str]:
    """The specification in words, and where it goes."""
    rows = {row["label"]: row["value"] for row in propeller_summary(specification, results.measures)}
    rows |= {
        "Quantity": str(specification.quantity),
        "Glue": specification.glue.name,
        "Leading-edge guard": specification.guard.name if specification.guard else "none",
        "Tip form": str(specification.tip_form.value),
        "Bolts ordered": "yes" if specification.hardware.bolts_ordered else "no",
    }
    if results.terms:
        rows |= {"Destination": results.terms.country, "Carriage": results.terms.zone}
    return rows


def _said(quote: Quote) -> dict[str, str]:
    return {"A word from the workshop": quote.message, "A stop overridden": quote.override_reason}


def _typed(quote: Quote) -> dict[str, str]:
    """What was typed, as typed; pictures are named by their file and left out."""
    return {k: str(v) for k, v in sorted(quote.typed.items()) if v and k != "decal_picture"}


def _lines(old: Results, new: Results, currency: str) -> tuple[tuple[LineChange, ...], int]:
    before = {line.key: line for line in old.price.lines}
    after = {line.key: line for line in new.price.lines}
    changed, same = [], 0
    for key in [*before, *(k for k in after if k not in before)]:
        a, b = before.get(key), after.get(key)
        if a and b and (a.quantity, a.rate, a.net, a.reason) == (b.quantity, b.rate, b.net, b.reason):
            same += 1
            continue
        zero = Money.zero(currency)
        line = b or a
        assert line is not None
        changed.append(LineChange(line.label, a, b, (b.net if b else zero) - (a.net if a else zero)))
    return tuple(changed), same


def _dates(before: tuple[Quote, Results], after: tuple[Quote, Results]) -> tuple[Dated, ...]:
    rows = zip(_days(*before), _days(*after), strict=True)
    return tuple(Dated(what, a, b) for (what, a), (_, b) in rows if a != b)


def _days(quote: Quote, results: Results) -> list[tuple[str, date | None]]:
    f = results.forecast
    likely, plan_on, late = (f.likely_by, f.plan_on, f.nineteen_in_twenty) if f else (None, None, None)
    return [
        ("Promised", quote.promised_for),
        ("Likely by", likely),
        ("Plan on", plan_on),
        ("19 in 20 by", late),
        ("Issued", _day(quote.issued_at)),
        ("Open until", _day(quote.expires_at)),
    ]


def _day(instant: datetime | None) -> date | None:
    return timezone.localdate(instant) if instant else None


def _basis(quote: Quote, results: Results) -> dict[str, str]:
    """What it was worked with."""
    return {
        "Price book": results.price_book,
        "Propeller model": results.model_version,
        "Pricing formulas": results.pricing_version,
        "Plan": quote.plan_version[:12],
        "Terms": quote.terms_version,
    }


def _only_in(these: Sequence[Finding], those: Sequence[Finding]) -> tuple[Finding, ...]:
    """Findings of a kind that the other side has not at all."""
    known = {(f.code, f.field) for f in those}
    return tuple(f for f in these if (f.code, f.field) not in known)


def _otherwise(old: Sequence[Finding], new: Sequence[Finding]) -> tuple[Finding, ...]:
    """Findings that were there before in other words or with another weight."""
    kinds = {(f.code, f.field) for f in old}
    same = {(f.code, f.field, f.severity, f.message) for f in old}
    return tuple(
        f for f in new if (f.code, f.field) in kinds and (f.code, f.field, f.severity, f.message) not in same
    )
