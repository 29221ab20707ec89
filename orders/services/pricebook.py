"""The owner's work on price books: draft one from a book in force, change it, see what it does, put it in force."""

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction

from orders.refusal import Refused
from orders.services import audit
from orders.services.repricing import is_tried
from orders.who import OWNER, Who
from quoting.models import PriceBookVersion
from quoting.pricing.entries import DEFINITIONS, OPTIONAL
from quoting.pricing.refusal import Refused as PriceRefused
from quoting.services import pricebook


def next_version(today: date) -> str:
    """The year and the first number not used in it, such as 2026-2."""
    taken = set(PriceBookVersion.objects.values_list("version", flat=True))
    return next(name for n in range(1, 10_000) if (name := f"{today.year}-{n}") not in taken)


@transaction.atomic
def draft(
    who: Who, *, today: date, now: datetime, values: Mapping[str, Decimal] | None = None, remark: str = ""
) -> PriceBookVersion:
    """A draft with every value of the book in force today but those given. Raises Refused when none is in force."""
    who.must_be(OWNER)
    try:
        base = pricebook.current_version(today)
        held = pricebook.book_of(base).entries
        fresh = {k: DEFINITIONS[k].value for k in OPTIONAL if not DEFINITIONS[k].is_family and k not in held}
        made = pricebook.draft_from(
            base,
            next_version(today),
            fresh | dict(values or {}),
            remark=remark or f"Copied from {base.version}",
        )
    except pricebook.NoPriceBook as missing:
        raise Refused("no-price-book", "Put a price book in force first.") from missing
    except PriceRefused as refused:
        raise _at_entry(refused) from refused
    detail = {
        key: [str(held[key].value) if key in held else "", str(value)]
        for key, value in (values or {}).items()
    }
    audit.record(who, "draft", f"price book {made.version}", now=now, after=made.state, detail=detail)
    return made


@transaction.atomic
def change(who: Who, version: PriceBookVersion, values: Mapping[str, Decimal], *, now: datetime) -> None:
    """Change values of a draft, or add entries of a family. Raises Refused at the entry that is out of its bounds."""
    who.must_be(OWNER)
    version = _draft(version)
    before = pricebook.book_of(version).entries
    try:
        pricebook.change_draft(version, values)
    except PriceRefused as refused:
        raise _at_entry(refused) from refused
    detail = {
        key: [str(before[key].value) if key in before else "", str(value)] for key, value in values.items()
    }
    audit.record(who, "change", f"price book {version.version}", now=now, detail=detail)


@transaction.atomic
def take_out(who: Who, version: PriceBookVersion, key: str, *, now: datetime) -> None:
    """Take one entry of a family out of a draft; its `other` then stands in. Refused where it must be there."""
    who.must_be(OWNER)
    version = _draft(version)
    try:
        taken = pricebook.take_from_draft(version, key)
    except PriceRefused as refused:
        raise _at_entry(refused) from refused
    audit.record(
        who, "take out", f"price book {version.version}", now=now, detail={key: [str(taken.value), ""]}
    )


@transaction.atomic
def put_in_force(
    who: Who, version: PriceBookVersion, effective_from: date, *, today: date, now: datetime
) -> None:
    """Put a draft in force from today or a later day, once it was tried as it stands.

    Raises Refused at the day when it is past or taken, and while past quotes were not priced under these very entries.
    """
    who.must_be(OWNER)
    version = _draft(version)
    if effective_from < today:
        raise Refused(
            "day-past", "Choose today or a later day; what was quoted stays as it was.", status=400,
            field="effective_from",
        )  # fmt: skip
    try:
        if not is_tried(version, pricebook.book_of(version)):
            raise Refused(
                "not-tried",
                "First re-price past quotes under the draft as it stands, and look at what it changes.",
            )
        pricebook.put_in_force(version, effective_from)
    except pricebook.BookRefused as refused:
        raise Refused("not-whole", str(refused)) from refused
    except ValueError as taken:
        raise Refused("day-taken", f"{taken}.".capitalize(), status=400, field="effective_from") from taken
    audit.record(
        who, "put in force", f"price book {version.version}", now=now, before="draft", after=version.state,
        detail={"effective_from": effective_from.isoformat()},
    )  # fmt: skip


def _at_entry(refused: PriceRefused) -> Refused:
    found = refused.finding
    return Refused(found.code, found.message, status=400, field=found.field)


def _draft(version: PriceBookVersion) -> PriceBookVersion:
    """The row again, held for this transaction; raises Refused when it is no draft any more."""
    version = PriceBookVersion.objects.select_for_update().get(pk=version.pk)
    if not version.is_draft:
        raise Refused(
            "no-draft", f"{version} is {version.state}; draft a new one to change values.".capitalize()
        )
    return version
