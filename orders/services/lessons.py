"""What recorded minutes and carriers' prices teach the price book: read from the bench and the orders. Stores nothing."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import Prefetch, Q, Sum

from orders.models import Order, Stage
from quoting.pricing.book import PriceBook
from quoting.pricing.freight import FreightOutcome, freight_outcome
from quoting.pricing.learning import Lessons, Record, lessons
from quoting.pricing.lines import Category
from quoting.pricing.minutes import work_content
from quoting.pricing.money import Money, total
from quoting.services.quotes import results_of, specification_of


def lessons_for(book: PriceBook) -> Lessons:
    """Bias by stage, timber and size, and what to propose for the draft after this book; never applied by itself."""
    return lessons(recorded_against(book), book)


def recorded_against(book: PriceBook) -> Iterator[Record]:
    """One record for each stage that is done: minutes up to its first finish, against what the book estimates today.

    Orders were estimated under the books of their day; estimating them anew keeps what was learned from counting twice.
    Work done again is left out: it is no part of an estimate.
    """
    spent = Sum("records__minutes", filter=Q(records__redo=False))
    done = Stage.objects.filter(state=Stage.State.DONE).annotate(spent=spent)
    orders = Order.objects.filter(propellers__stages__state=Stage.State.DONE).distinct()
    orders = orders.select_related("quote").prefetch_related(
        "propellers", Prefetch("propellers__stages", queryset=done, to_attr="done_stages")
    )
    for order in orders.order_by("pk").iterator(chunk_size=100):
        yield from _of_order(order, book)


def _of_order(order: Order, book: PriceBook) -> Iterator[Record]:
    specification, measures = specification_of(order.quote), results_of(order.quote).measures
    estimated = {s.stage: s.minutes for s in work_content(measures, specification, book)}
    for propeller in order.propellers.all():
        for stage in propeller.done_stages:  # type: ignore[attr-defined] # prefetched above
            yield Record(
                stage=stage.key,
                timber=specification.timber.code,
                diameter=measures.diameter,
                estimated=estimated.get(stage.key, 0),
                recorded=stage.spent or 0,
            )


@dataclass(frozen=True, slots=True)
class FreightLesson:
    """Carriage to one country: how many consignments, and their cost as estimated against what carriers asked."""

    country: str
    count: int
    outcome: FreightOutcome

    @property
    def share(self) -> str:
        share = self.outcome.share
        return "" if share is None else f"{100 * share:+.1f} %"


def freight_lessons() -> list[FreightLesson]:
    """Estimated against actual carriage by country and currency, over all orders whose carrier's price was entered."""
    sums: dict[tuple[str, str], list[int]] = {}
    for order in Order.objects.exclude(freight_cost=None).select_related("quote").order_by("number"):
        found = freight_of(order)
        if found is None:
            continue
        key = order.address.get("country") or "?", order.currency
        count, estimated, actual = sums.get(key, [0, 0, 0])
        sums[key] = [count + 1, estimated + found.estimated.minor, actual + found.actual.minor]
    return [
        FreightLesson(
            country,
            n,
            freight_outcome(Money.from_minor(estimated, currency), Money.from_minor(actual, currency)),
        )
        for (country, currency), (n, estimated, actual) in sorted(sums.items())
    ]


def freight_of(order: Order) -> FreightOutcome | None:
    """Estimated against actual carriage of one order; None while the carrier's price is not entered."""
    if order.freight_cost is None:
        return None
    lines = [n for n in results_of(order.quote).price.lines if n.category is Category.FREIGHT]
    estimated = total((line.cost for line in lines), order.currency)
    return freight_outcome(estimated, Money.from_minor(order.freight_cost, order.currency))
