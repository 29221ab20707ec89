"""Price books between rows and the pure `PriceBook`: read the one in force, draft, change a draft, put it in force."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from decimal import Decimal
from functools import lru_cache

from django.db import transaction

from quoting.models import FreightZone, PriceBookEntry, PriceBookVersion, TaxRate
from quoting.pricing.book import Entry, PriceBook
from quoting.pricing.entries import definition_of
from quoting.pricing.lines import Category
from quoting.pricing.refusal import refuse
from quoting.pricing.tax import ANYWHERE, TaxRow
from quoting.propeller.finding import Finding

State = PriceBookVersion.State


class NoPriceBook(LookupError):
    """No price book is in force on the day: the owner has to put one in force first."""


class BookRefused(ValueError):
    """Rows that make no price book; `findings` name each entry."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        super().__init__("; ".join(f"{f.field}: {f.message}" for f in findings))
        self.findings = findings


def current_version(today: date) -> PriceBookVersion:
    """The row of the book in force on the day; raises NoPriceBook."""
    version = PriceBookVersion.objects.filter(state=State.IN_FORCE, effective_from__lte=today).first()
    if version is None:
        raise NoPriceBook(f"no price book is in force on {today.isoformat()}")
    return version


def current_book(today: date) -> PriceBook:
    """The book in force on the day; one query when it was read before. Raises NoPriceBook."""
    version = current_version(today)
    return _kept(version.pk, version.created_at)


def book_of(version: PriceBookVersion) -> PriceBook:
    """The pure book of a version, drafts too; raises BookRefused when a draft is not whole."""
    book, findings = PriceBook.from_rows(
        version.version, version.currency, version.effective_from or date.max, _rows(version)
    )
    if book is None:
        raise BookRefused(findings)
    return book


def book_behind(version: PriceBookVersion) -> PriceBook:
    """The book of a version that quotes were made under; read once per process, for it never changes."""
    return book_of(version) if version.is_draft else _kept(version.pk, version.created_at)


@transaction.atomic
def draft_book(
    version: str, currency: str, rows: Iterable[Mapping[str, object]], *, remark: str = ""
) -> PriceBookVersion:
    """Store a draft of these rows (see `PriceBook.from_rows`); raises BookRefused."""
    book, findings = PriceBook.from_rows(version, currency, date.max, rows)
    if book is None:
        raise BookRefused(findings)
    return _store(book, remark)


@transaction.atomic
def draft_from(
    base: PriceBookVersion, version: str, values: Mapping[str, Decimal], *, remark: str = ""
) -> PriceBookVersion:
    """A new draft with some values of a base changed; raises `Refused` naming the key and its bounds."""
    return _store(book_of(base).redrafted(version, values), remark)


@transaction.atomic
def change_draft(version: PriceBookVersion, values: Mapping[str, Decimal]) -> PriceBook:
    """Change values of a draft; raises `Refused` naming the key. A book in force is refused by the database."""
    book = book_of(version).redrafted(version.version, values)
    version.entries.filter(key__in=values).delete()
    _store_entries(version, book, only=frozenset(values))
    return book


@transaction.atomic
def take_from_draft(version: PriceBookVersion, key: str) -> Entry:
    """Take an entry of a family out of a draft and return it; raises `Refused` for one that every book must hold."""
    entry = book_of(version).entries.get(key)
    definition = definition_of(key)
    if entry is None or definition is None or not definition.is_family or key == definition.wanted:
        raise refuse("entry-wanted", key[:60], f"{key[:60]!r} cannot be taken out of a price book.")
    version.entries.filter(key=key).delete()
    return entry


@transaction.atomic
def put_in_force(version: PriceBookVersion, effective_from: date) -> None:
    """Put a draft in force from a day on; books already in force stay so until that day.

    Raises BookRefused when an entry is missing, ValueError when it is no draft any more or the day is taken.
    """
    book_of(version)
    if PriceBookVersion.objects.filter(state=State.IN_FORCE, effective_from=effective_from).exists():
        raise ValueError(f"another price book is in force from {effective_from.isoformat()}")
    changed = PriceBookVersion.objects.filter(pk=version.pk, state=State.DRAFT).update(
        state=State.IN_FORCE, effective_from=effective_from
    )
    if not changed:
        raise ValueError(f"{version} is no draft")
    version.refresh_from_db()


def tax_rows() -> tuple[TaxRow, ...]:
    """The owner's tax table as pure rows."""
    return tuple(
        TaxRow(
            country=rate.country,
            code=rate.code,
            label=rate.label,
            percent=rate.percent,
            valid_from=rate.valid_from,
            valid_to=rate.valid_to,
            categories=tuple(Category(c) for c in rate.categories),
        )
        for rate in TaxRate.objects.all()
    )


def zone_for(country: str) -> str | None:
    """Code of the freight zone that serves a country, else of the one for everywhere else, else None."""
    zones = list(FreightZone.objects.all())
    named = [z.code for z in zones if country in z.countries]
    anywhere = [z.code for z in zones if ANYWHERE in z.countries]
    return next(iter(named + anywhere), None)


def home_country() -> str:
    """The workshop's own country: the first of the first freight zone, "DE" while none is entered."""
    zone = FreightZone.objects.first()
    return next((c for c in (zone.countries if zone else ()) if c != ANYWHERE), "DE")


@lru_cache(maxsize=32)
def _kept(pk: int, _created_at: datetime) -> PriceBook:
    """The entries of a book in force never change, so one reading lasts as long as the process."""
    return book_of(PriceBookVersion.objects.get(pk=pk))


def _rows(version: PriceBookVersion) -> list[dict[str, object]]:
    return [
        {
            "key": entry.key,
            "value": entry.value,
            "unit": entry.unit,
            "sentence": entry.sentence,
            "low": entry.low,
            "high": entry.high,
        }
        for entry in version.entries.all()
    ]


def _store(book: PriceBook, remark: str) -> PriceBookVersion:
    version = PriceBookVersion.objects.create(version=book.version, currency=book.currency, remark=remark)
    _store_entries(version, book)
    return version


def _store_entries(version: PriceBookVersion, book: PriceBook, only: frozenset[str] = frozenset()) -> None:
    PriceBookEntry.objects.bulk_create(
        _entry_row(version, key, book) for key in book.entries if not only or key in only
    )


def _entry_row(version: PriceBookVersion, key: str, book: PriceBook) -> PriceBookEntry:
    entry = book.entries[key]
    decimals = max(_decimals(number) for number in (entry.value, entry.low, entry.high))
    value, low, high = (int(n.scaleb(decimals)) for n in (entry.value, entry.low, entry.high))
    return PriceBookEntry(
        book=version,
        key=key,
        scaled=value,
        low_scaled=low,
        high_scaled=high,
        decimals=decimals,
        unit=entry.unit,
        sentence=entry.sentence,
    )


def _decimals(number: Decimal) -> int:
    exponent = number.as_tuple().exponent
    assert isinstance(exponent, int), number
    return max(0, -exponent)
