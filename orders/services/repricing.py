"""Past quotes and open enquiries priced under a draft price book: a job that says how far it is, and its outcome."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from orders.models import Enquiry, Repricing
from orders.refusal import Refused
from orders.services import audit, outbox
from orders.services.quote import preview
from orders.who import OWNER, Who
from quoting.models import PriceBookVersion, Quote
from quoting.pricing.book import PriceBook
from quoting.pricing.reprice import Difference, Outcome, outcome, reprice
from quoting.services.pricebook import book_of
from quoting.services.repricing import quoted, quoted_now
from quoting.services.serial import digest, structured, unstructured

S = Repricing.State
SENT = (
    Quote.State.SENT,
    Quote.State.ACCEPTED,
    Quote.State.DECLINED,
    Quote.State.LAPSED,
    Quote.State.SUPERSEDED,
)
"""The states of quotes that were sent at some time."""
OPEN = (Enquiry.State.NEW, Enquiry.State.ASKED_BACK)
EVERY = 10
"""Progress is written after so many."""
MOST = 20_000


@dataclass(frozen=True, slots=True)
class Choice:
    """Which quotes and enquiries: by state and day of sending, or by their very numbers, which then stand alone."""

    states: tuple[str, ...] = (Quote.State.SENT,)
    sent_from: date | None = None
    sent_to: date | None = None
    enquiries: bool = True
    numbers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Sample:
    """The newest open prices under values typed just now."""

    outcome: Outcome
    unpriced: tuple[str, ...]


def book_digest(book: PriceBook) -> str:
    """One text for one set of entries, whatever the version and day."""
    return digest(book.to_rows())


@transaction.atomic
def ask_for(who: Who, version: PriceBookVersion, choice: Choice, *, now: datetime) -> Repricing:
    """Fix the set and have the worker price it under the draft. Raises Refused where none can be worked."""
    who.must_be(OWNER)
    version = PriceBookVersion.objects.select_for_update().get(pk=version.pk)
    if not version.is_draft:
        raise Refused("no-draft", f"{version} is {version.state}; only a draft is tried out.".capitalize())
    if Repricing.objects.filter(book=version, state__in=[S.WAITING, S.RUNNING]).exists():
        raise Refused("under-way", "A re-pricing under this draft is under way; wait until it is done.")
    quotes, enquiries = chosen_rows(choice)
    total = len(quotes) + len(enquiries)
    if not total:
        raise Refused("nothing-chosen", "Nothing was chosen: no such quote was sent and no enquiry is open.")
    if total > MOST:
        raise Refused("too-many", f"{total} are chosen; choose {MOST} or fewer, by their day of sending.")
    row = Repricing.objects.create(
        book=version, chosen=unstructured(choice), quotes=quotes, enquiries=enquiries, total=total,
        asked_by=who.user, asked_at=now,
    )  # fmt: skip
    outbox.enqueue("reprice", {"repricing": row.pk}, now=now)
    audit.record(who, "re-price", f"price book {version.version}", now=now, detail={"prices": total})
    return row


def chosen_rows(choice: Choice) -> tuple[list[int], list[int]]:
    """Primary keys of the quotes, newest first, and of the enquiries that a choice names; raises Refused at `numbers`."""
    if choice.numbers:
        return _by_number(choice.numbers)
    quotes = Quote.objects.filter(state__in=[s for s in choice.states if s in SENT])
    if choice.sent_from:
        quotes = quotes.filter(issued_at__date__gte=choice.sent_from)
    if choice.sent_to:
        quotes = quotes.filter(issued_at__date__lte=choice.sent_to)
    asked = Enquiry.objects.filter(state__in=OPEN).order_by("-created_at") if choice.enquiries else []
    return list(quotes.order_by("-issued_at", "-pk").values_list("pk", flat=True)), [e.pk for e in asked]


def _by_number(numbers: Iterable[str]) -> tuple[list[int], list[int]]:
    """A quote's number takes its newest sent revision; raises Refused naming every number that is neither."""
    wanted = list(dict.fromkeys(numbers))
    newest: dict[str, int] = {}
    rows = Quote.objects.filter(series__number__in=wanted, state__in=SENT).order_by("revision")
    for pk, number in rows.values_list("pk", "series__number"):
        newest[number] = pk
    asked = dict(Enquiry.objects.filter(number__in=wanted, state__in=OPEN).values_list("number", "pk"))
    lost = [n for n in wanted if n not in newest and n not in asked]
    if lost:
        raise Refused(
            "unknown-number",
            f"No quote was sent and no enquiry is open under {', '.join(lost[:5])}.",
            status=400,
            field="numbers",
        )
    return [newest[n] for n in wanted if n in newest], [asked[n] for n in wanted if n in asked]


def run(payload: dict[str, Any]) -> None:
    """Job: price the chosen set under the draft as it stands now; begun again it starts anew, done it does nothing."""
    row = Repricing.objects.select_related("book").get(pk=payload["repricing"])
    if row.state == S.DONE:
        return
    book = book_of(row.book)
    now = timezone.now()
    Repricing.objects.filter(pk=row.pk).update(
        state=S.RUNNING, done=0, problem="", book_digest=book_digest(book)
    )
    found: list[Difference] = []
    unpriced: list[str] = []
    try:
        for reference, difference in _worked(row, book, today=timezone.localdate(now)):
            if difference is None:
                unpriced.append(reference)
            else:
                found.append(difference)
            if (len(found) + len(unpriced)) % EVERY == 0:
                Repricing.objects.filter(pk=row.pk).update(done=len(found) + len(unpriced))
    except Exception as trouble:
        Repricing.objects.filter(pk=row.pk).update(state=S.FAILED, problem=f"{trouble}"[:500])
        raise
    Repricing.objects.filter(pk=row.pk).update(
        state=S.DONE, done=row.total, differences=unstructured(found), unpriced=unpriced,
        finished_at=timezone.now(),
    )  # fmt: skip


def _worked(row: Repricing, book: PriceBook, *, today: date) -> Iterator[tuple[str, Difference | None]]:
    quotes = Quote.objects.filter(pk__in=row.quotes).select_related("series").order_by("-issued_at", "-pk")
    for quote in quotes.iterator(chunk_size=50):
        stored = quoted(quote)
        yield quote.reference, None if stored is None else reprice(stored, book)
    for enquiry in Enquiry.objects.filter(pk__in=row.enquiries).order_by("-created_at"):
        yield enquiry.number, _of_enquiry(enquiry, book, today=today)


def _of_enquiry(enquiry: Enquiry, book: PriceBook, *, today: date) -> Difference | None:
    """An open enquiry under the draft; None while a stop withholds its price."""
    try:
        found = quoted_now(enquiry.number, preview(enquiry, today=today))
    except Refused:
        return None
    return None if found is None else reprice(found, book)


def outcome_of(row: Repricing) -> Outcome:
    """The outcome of a run that is done."""
    return outcome(structured(row.differences, tuple[Difference, ...]), row.book.currency)


def latest(version: PriceBookVersion) -> Repricing | None:
    return Repricing.objects.filter(book=version).select_related("book").first()


def is_tried(version: PriceBookVersion, book: PriceBook) -> bool:
    """Whether the draft as it stands was tried on quotes or enquiries, or there are none to try it on."""
    if Repricing.objects.filter(book=version, state=S.DONE, book_digest=book_digest(book)).exists():
        return True
    return not (
        Quote.objects.filter(state__in=SENT).exists() or Enquiry.objects.filter(state__in=OPEN).exists()
    )


def sample(book: PriceBook, *, today: date, quotes: int = 12, enquiries: int = 2) -> Sample:
    """The newest open quotes and enquiries under a book that may not be stored: what changes, at once."""
    newest = Quote.objects.filter(Q(state=Quote.State.SENT) | Q(state=Quote.State.ACCEPTED))
    found: list[Difference] = []
    unpriced: list[str] = []
    for quote in newest.select_related("series").order_by("-issued_at")[:quotes]:
        stored = quoted(quote)
        if stored is not None:
            found.append(reprice(stored, book))
    for enquiry in Enquiry.objects.filter(state__in=OPEN).order_by("-created_at")[:enquiries]:
        difference = _of_enquiry(enquiry, book, today=today)
        if difference is None:
            unpriced.append(enquiry.number)
        else:
            found.append(difference)
    return Sample(outcome(found, book.currency), tuple(unpriced))
