"""The price book: one version of every coefficient, each with its unit, bounds and the sentence that explains it."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TypedDict

from quoting.pricing.entries import DEFINITIONS, Definition, definition_of
from quoting.pricing.lines import Working
from quoting.pricing.money import EXPONENTS
from quoting.pricing.refusal import Refused, read_decimal, refuse, stop, within
from quoting.propeller.finding import Finding

LONGEST_KEY = 60
LONGEST_SENTENCE = 500


@dataclass(frozen=True, slots=True)
class Entry:
    """One coefficient: its value in `unit`, the sentence that explains it, and the owner's own bounds."""

    key: str
    value: Decimal
    unit: str
    sentence: str
    low: Decimal
    high: Decimal


class Row(TypedDict):
    """An entry as text, the way it is stored and sent; numbers are plain decimals."""

    key: str
    value: str
    unit: str
    sentence: str
    low: str
    high: str


@dataclass(frozen=True)
class PriceBook:
    """A version of the price book. Made from checked rows by `from_rows`; never changed, only drafted anew.

    Looking up a key that is not there raises KeyError: a book from `from_rows` lacks none.
    """

    version: str
    currency: str
    effective: date
    entries: Mapping[str, Entry]

    @classmethod
    def from_rows(
        cls, version: str, currency: str, effective: date, rows: Iterable[Mapping[str, object]]
    ) -> tuple["PriceBook | None", tuple[Finding, ...]]:
        """The book, or None with a finding for every unknown, missing, doubled or out-of-bounds entry.

        A row needs `key` and `value`; `unit` must be the key's own where given; `sentence`, `low` and `high`
        default to the definition's, and bounds may only be narrower than it.
        """
        entries: dict[str, Entry] = {}
        findings: list[Finding] = []
        if currency not in EXPONENTS:
            findings.append(
                stop("unknown-currency", "currency", f"{currency!r} is not a currency known here.")
            )
        for row in rows:
            try:
                entry = _entry(row)
                if entry.key in entries:
                    raise refuse("entry-doubled", entry.key, f"{entry.key} stands twice in the book.")
                entries[entry.key] = entry
            except Refused as refused:
                findings.append(refused.finding)
        named = entries.keys() | {f.field for f in findings}
        findings += [_missing(d) for d in DEFINITIONS.values() if d.wanted and d.wanted not in named]
        if findings:
            return None, tuple(findings)
        return cls(version, currency, effective, dict(sorted(entries.items(), key=_place))), ()

    def to_rows(self) -> list[Row]:
        """Rows that `from_rows` reads back to an equal book."""
        return [
            Row(
                key=e.key,
                value=_plain(e.value),
                unit=e.unit,
                sentence=e.sentence,
                low=_plain(e.low),
                high=_plain(e.high),
            )
            for e in self.entries.values()
        ]

    def __getitem__(self, key: str) -> Decimal:
        return self.entries[key].value

    def value_of(self, key: str) -> Decimal:
        """The value of an entry, or the starting value of an optional one that this book does not hold yet."""
        return self.entries[key].value if key in self.entries else DEFINITIONS[key].value

    def key_for(self, family: str, code: str) -> str:
        """The key in a family for this code, or the family's `other`."""
        key = f"{family}.{code}"
        return key if key in self.entries else f"{family}.other"

    def family(self, family: str) -> dict[str, Entry]:
        """Entries of a family by code, `other` included."""
        lead = f"{family}."
        return {k.removeprefix(lead): e for k, e in self.entries.items() if k.startswith(lead)}

    def working(self, key: str, name: str = "") -> Working:
        """The entry as a factor with its origin in this version."""
        entry = self.entries[key]
        unit = entry.unit.replace("money", self.currency)
        return Working(name or entry.sentence, entry.value, unit, f"price book {self.version}: {key}")

    def redrafted(
        self, version: str, values: Mapping[str, Decimal], effective: date | None = None
    ) -> "PriceBook":
        """A copy under another version with some values changed; raises `Refused` at a bad key or value."""
        entries = dict(self.entries)
        for key, value in values.items():
            old = entries.get(key)
            row: dict[str, object] = {"key": key, "value": value}
            if old is not None:
                row |= {"sentence": old.sentence, "low": old.low, "high": old.high}
            entries[key] = _entry(row)
        return PriceBook(
            version, self.currency, effective or self.effective, dict(sorted(entries.items(), key=_place))
        )


def starting_book(version: str, currency: str, effective: date) -> PriceBook:
    """A book of the starting values alone, families holding only `other`, quantity breaks none."""
    wanted = {d.key: d.wanted or d.key for d in DEFINITIONS.values() if d.wanted or not d.is_family}
    rows = [{"key": key, "value": DEFINITIONS[of].value} for of, key in wanted.items()]
    book, findings = PriceBook.from_rows(version, currency, effective, rows)
    assert book is not None, findings
    return book


def _place(item: tuple[str, Entry]) -> tuple[int, str]:
    definition = definition_of(item[0])
    assert definition is not None, item[0]
    return _ORDER[definition.key], item[0]


def _missing(definition: Definition) -> Finding:
    message = f"The book lacks {definition.wanted}: {definition.sentence}"
    return stop("entry-missing", definition.wanted, message, unit=definition.unit)


def _entry(row: Mapping[str, object]) -> Entry:
    key = str(row.get("key", ""))
    definition = definition_of(key) if len(key) <= LONGEST_KEY else None
    if definition is None:
        raise refuse("entry-unknown", key[:LONGEST_KEY], f"{key[:80]!r} is not an entry of the price book.")
    _check_code(key, definition)
    unit = str(row.get("unit") or definition.unit)
    if unit != definition.unit:
        raise refuse("entry-unit", key, f"{key} is in {definition.unit}, not in {unit[:40]}.")
    low = within(_bound(row, "low", definition.low, key), definition.low, definition.high, key, unit)
    high = within(_bound(row, "high", definition.high, key), low, definition.high, key, unit)
    value = within(read_decimal(row.get("value"), key), low, high, key, unit)
    sentence = str(row.get("sentence") or definition.sentence)
    if len(sentence) > LONGEST_SENTENCE:
        raise refuse(
            "entry-sentence", key, f"The sentence of {key} is longer than {LONGEST_SENTENCE} characters."
        )
    return Entry(key, value, unit, sentence, low, high)


def _check_code(key: str, definition: Definition) -> None:
    """Codes of a family are words such as yellow-birch; those of quantity breaks are whole numbers."""
    if not definition.is_family:
        return
    code = key.removeprefix(definition.key.removesuffix("*"))
    number = definition.key == "quantity.break.*"
    if not (_NUMBER if number else _CODE).fullmatch(code):
        wanted = "a whole number" if number else "a code of letters, digits, hyphens"
        raise refuse("entry-unknown", key, f"{key[:80]!r} must end in {wanted}.")


def _bound(row: Mapping[str, object], name: str, default: Decimal, key: str) -> Decimal:
    given = row.get(name)
    return default if given is None else read_decimal(given, key)


def _plain(value: Decimal) -> str:
    return f"{value:f}"


_CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _-]{0,60}")
_NUMBER = re.compile(r"[1-9][0-9]{0,2}")
_ORDER = {key: place for place, key in enumerate(DEFINITIONS)}
