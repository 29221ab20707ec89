"""Pricing again under a draft price book: what each quote would cost then, and how the differences are spread."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from statistics import median

from quoting.pricing.book import PriceBook
from quoting.pricing.lines import Price, StageMinutes
from quoting.pricing.minutes import work_content
from quoting.pricing.money import Money, round_half_up, total
from quoting.pricing.price import price
from quoting.pricing.refusal import Refused
from quoting.pricing.terms import Terms
from quoting.propeller.measures import Measures
from quoting.propeller.specification import Specification


@dataclass(frozen=True, slots=True)
class Quoted:
    """A stored quote or open enquiry as pricing needs it: its geometry's measures, minutes, terms and price."""

    reference: str
    measures: Measures
    specification: Specification
    work: tuple[StageMinutes, ...]
    terms: Terms
    price: Price


@dataclass(frozen=True, slots=True)
class Difference:
    """One quote under the draft. `change` = `by_rates` + `by_minutes`; shares are of the net price.

    Where the draft cannot price the quote, `problem` says why and the rest is None.
    """

    reference: str
    before: Money
    after: Money | None
    by_rates: Money | None
    by_minutes: Money | None
    margin_before: Decimal | None
    margin_after: Decimal | None
    problem: str = ""

    @property
    def change(self) -> Money | None:
        return None if self.after is None else self.after - self.before

    @property
    def share(self) -> Decimal | None:
        """The change over the net before, None where there was none."""
        if self.change is None or not self.before:
            return None
        return round_half_up(self.change.amount / self.before.amount, 6)


@dataclass(frozen=True, slots=True)
class Spread:
    """How a set of shares lies: count, ends, quartiles, and how many fall in each bin between `edges`."""

    count: int
    least: Decimal
    lower: Decimal
    middle: Decimal
    upper: Decimal
    most: Decimal
    edges: tuple[Decimal, ...]
    counts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """All quotes under the draft: spreads (None of nothing), totals, and those the draft cannot price."""

    differences: tuple[Difference, ...]
    changes: Spread | None
    margins_before: Spread | None
    margins_after: Spread | None
    total_before: Money
    total_after: Money
    problems: tuple[Difference, ...]


def reprice(quote: Quoted, draft: PriceBook) -> Difference:
    """One quote under a draft: minutes worked anew from the stored measures, and what of the change is theirs."""
    before = quote.price.net
    margin_before = _margin(quote.price)
    if quote.price.currency != draft.currency:
        problem = f"quoted in {quote.price.currency}, the draft is in {draft.currency}"
        return Difference(quote.reference, before, None, None, None, margin_before, None, problem)
    try:
        work = work_content(quote.measures, quote.specification, draft)
        after = price(quote.measures, quote.specification, work, draft, quote.terms)
        same = work == quote.work or _minutes(work) == _minutes(quote.work)
        old_minutes = (
            after if same else price(quote.measures, quote.specification, quote.work, draft, quote.terms)
        )
    except Refused as refused:
        return Difference(quote.reference, before, None, None, None, margin_before, None, str(refused))
    return Difference(
        quote.reference,
        before,
        after.net,
        by_rates=old_minutes.net - before,
        by_minutes=after.net - old_minutes.net,
        margin_before=margin_before,
        margin_after=_margin(after),
    )


def reprice_all(quotes: Iterable[Quoted], draft: PriceBook) -> Iterator[Difference]:
    """Differences one by one, so that the caller can show how far it is."""
    for quote in quotes:
        yield reprice(quote, draft)


def outcome(differences: Iterable[Difference], currency: str, *, bins: int = 12) -> Outcome:
    """Gather differences into spreads of the change and of the margin before and after, both margins in the same bins."""
    every = tuple(differences)
    priced = [d for d in every if d.after is not None and d.before.currency == currency]
    before = [d.margin_before for d in priced if d.margin_before is not None]
    after = [d.margin_after for d in priced if d.margin_after is not None]
    ends = (min(before + after), max(before + after)) if before or after else None
    return Outcome(
        differences=every,
        changes=spread([d.share for d in priced if d.share is not None], bins),
        margins_before=spread(before, bins, ends),
        margins_after=spread(after, bins, ends),
        total_before=total((d.before for d in priced), currency),
        total_after=total((d.after for d in priced if d.after is not None), currency),
        problems=tuple(d for d in every if d.problem),
    )


def spread(
    values: Sequence[Decimal], bins: int, ends: tuple[Decimal, Decimal] | None = None
) -> Spread | None:
    """Ends, quartiles (medians of the halves) and a histogram of equal bins; None for no values.

    The bins lie between the least and the most value, or between wider `ends`.
    """
    if not values:
        return None
    least, most = min(values), max(values)
    low, high = ends or (least, most)
    width = (high - low) / bins
    if not width:
        return Spread(len(values), low, low, low, high, high, (low, high), (len(values),))
    edges = tuple(low + width * n for n in range(bins)) + (high,)
    counts = [0] * bins
    for value in values:
        counts[min(int((value - low) / width), bins - 1)] += 1
    placed = sorted(values)
    half = len(placed) // 2
    lower, upper = (
        median(part) if part else placed[0] for part in (placed[:half], placed[-half:] if half else [])
    )
    return Spread(len(placed), least, lower, median(placed), upper, most, edges, tuple(counts))


def _minutes(work: tuple[StageMinutes, ...]) -> dict[str, tuple[int, str]]:
    return {stage.stage: (stage.minutes, stage.skill) for stage in work}


def _margin(found: Price) -> Decimal | None:
    return round_half_up(found.margin.amount / found.net.amount, 6) if found.net else None
