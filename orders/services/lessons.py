"""What recorded minutes teach the price book: read from the bench, estimated anew under a book. Stores nothing."""

from collections.abc import Iterator

from django.db.models import Prefetch, Q, Sum

from orders.models import Order, Stage
from quoting.pricing.book import PriceBook
from quoting.pricing.learning import Lessons, Record, lessons
from quoting.pricing.minutes import work_content
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
