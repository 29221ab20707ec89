"""The owner's work on price books: draft one from the book in force, change it, see what it does, put it in force."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction

from orders.models import Enquiry
from orders.refusal import Refused
from orders.services import audit
from orders.services.quote import preview
from orders.who import OWNER, Who
from quoting.models import PriceBookVersion, Quote
from quoting.pricing.refusal import Refused as PriceRefused
from quoting.pricing.reprice import Difference, Outcome, outcome, reprice
from quoting.services import pricebook
from quoting.services.repricing import quoted_now, reprice_quotes

MOST_QUOTES = 200
MOST_ENQUIRIES = 20


@dataclass(frozen=True, slots=True)
class UnderDraft:
    """What a draft does to the newest sent quotes and open enquiries; `left_off` counts the older ones not worked."""

    outcome: Outcome
    left_off: int
    unpriced: tuple[str, ...]


def next_version(today: date) -> str:
    """The year and the first number not used in it, such as 2026-2."""
    taken = set(PriceBookVersion.objects.values_list("version", flat=True))
    return next(name for n in range(1, 10_000) if (name := f"{today.year}-{n}") not in taken)


@transaction.atomic
def draft(who: Who, *, today: date, now: datetime) -> PriceBookVersion:
    """A draft with every value of the book in force today. Raises Refused when none is in force."""
    who.must_be(OWNER)
    try:
        base = pricebook.current_version(today)
    except pricebook.NoPriceBook as missing:
        raise Refused("no-price-book", "Put a price book in force first.") from missing
    made = pricebook.draft_from(base, next_version(today), {}, remark=f"Copied from {base.version}")
    audit.record(who, "draft", f"price book {made.version}", now=now, after=made.state)
    return made


@transaction.atomic
def change(who: Who, version: PriceBookVersion, values: Mapping[str, Decimal], *, now: datetime) -> None:
    """Change values of a draft. Raises Refused at the entry that is out of its bounds, and for a book in force."""
    who.must_be(OWNER)
    version = _draft(version)
    before = pricebook.book_of(version)
    try:
        pricebook.change_draft(version, values)
    except PriceRefused as refused:
        found = refused.finding
        raise Refused(found.code, found.message, status=400, field=found.field) from refused
    detail = {key: [str(before[key]), str(value)] for key, value in values.items()}
    audit.record(who, "change", f"price book {version.version}", now=now, detail=detail)


@transaction.atomic
def put_in_force(
    who: Who, version: PriceBookVersion, effective_from: date, *, today: date, now: datetime
) -> None:
    """Put a draft in force from today or a later day. Raises Refused at the day when it is past or taken."""
    who.must_be(OWNER)
    version = _draft(version)
    if effective_from < today:
        raise Refused(
            "day-past", "Choose today or a later day; what was quoted stays as it was.", status=400,
            field="effective_from",
        )  # fmt: skip
    try:
        pricebook.put_in_force(version, effective_from)
    except pricebook.BookRefused as refused:
        raise Refused("not-whole", str(refused)) from refused
    except ValueError as taken:
        raise Refused("day-taken", f"{taken}.".capitalize(), status=400, field="effective_from") from taken
    audit.record(
        who, "put in force", f"price book {version.version}", now=now, before="draft", after=version.state,
        detail={"effective_from": effective_from.isoformat()},
    )  # fmt: skip


def under_draft(version: PriceBookVersion, *, today: date) -> UnderDraft:
    """Sent quotes and open enquiries priced under a draft; stores nothing."""
    book = pricebook.book_of(version)
    sent = Quote.objects.filter(state=Quote.State.SENT).select_related("series").order_by("-issued_at")
    asked = Enquiry.objects.filter(state__in=[Enquiry.State.NEW, Enquiry.State.ASKED_BACK])
    unpriced: list[str] = []

    def enquiries() -> Iterator[Difference]:
        for enquiry in asked.order_by("-created_at")[:MOST_ENQUIRIES]:
            try:
                found = quoted_now(enquiry.number, preview(enquiry, today=today))
            except Refused:
                found = None
            if found is None:
                unpriced.append(enquiry.number)
            else:
                yield reprice(found, book)

    every = [*reprice_quotes(sent[:MOST_QUOTES], book), *enquiries()]
    left_off = max(sent.count() - MOST_QUOTES, 0) + max(asked.count() - MOST_ENQUIRIES, 0)
    return UnderDraft(outcome(every, version.currency), left_off, tuple(unpriced))


def _draft(version: PriceBookVersion) -> PriceBookVersion:
    """The row again, held for this transaction; raises Refused when it is no draft any more."""
    version = PriceBookVersion.objects.select_for_update().get(pk=version.pk)
    if not version.is_draft:
        raise Refused(
            "no-draft", f"{version} is {version.state}; draft a new one to change values.".capitalize()
        )
    return version
