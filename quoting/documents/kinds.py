"""The papers of the house and what each needs: plain JSON values, already in the words and units to be printed.

Money is a plain decimal string with the currency's own decimals ("1284.84"); the template groups it. Dates are
ISO 8601 strings (2026-11-25). Pictures are SVG text from `quoting.propeller.drawing`, each with words for readers
who cannot see it. Keys marked NotRequired may be left out; every other key must be there.
"""

from typing import Any, Literal, NotRequired, TypedDict, get_args, get_origin, get_type_hints, is_typeddict

Paper = Literal["a4", "us-letter"]


class Shop(TypedDict):
    """Who issues the paper."""

    name: str
    address: list[str]
    email: NotRequired[str]
    phone: NotRequired[str]
    tax_number: NotRequired[str]


class Party(TypedDict):
    """Who it is for."""

    name: str
    address: list[str]
    tax_number: NotRequired[str]


class Pair(TypedDict):
    """One row of a summary: what, and how much."""

    label: str
    value: str


class Picture(TypedDict):
    svg: str
    words: str


class Sheet(TypedDict):
    """What every paper carries. `date` dates the file too; `state` stands in the title block (sent, draft ...)."""

    shop: Shop
    number: str
    revision: str
    date: str
    state: str
    propeller: str
    paper: NotRequired[Paper]
    lang: NotRequired[str]
    display_only: NotRequired[bool]


class PriceLine(TypedDict):
    label: str
    quantity: str
    net: str
    note: NotRequired[str]


class TaxRow(TypedDict):
    label: str
    base: str
    tax: str


class FindingRow(TypedDict):
    """`severity` is note, not checked, caution or stop."""

    severity: str
    message: str
    source: NotRequired[str]


class ForecastPart(TypedDict):
    """Dates as they are to be read (28 March 2027); `waits_on` in words; `svg` from `drawing.readiness`."""

    likely_by: str
    plan_on: str
    nineteen_in_twenty: str
    promise: NotRequired[str]
    ahead: int
    waits_on: list[str]
    svg: NotRequired[str]


class Accept(TypedDict):
    """The link behind the square code, and the last day it is open."""

    url: str
    until: str


class Clause(TypedDict):
    heading: str
    text: str


class Quote(Sheet):
    """The offer: what it is, what it costs, when, what was found, how to accept, terms.

    `deposit` and `balance` sum to `gross`. `currency_words` is printed once over the price (Pounds sterling).
    `price_summary` sums to `net` like `lines`, which then follow on a later sheet. `basis` says what the quote was
    worked with.
    """

    customer: Party
    valid_until: str
    drawing: Picture
    summary: list[Pair]
    currency: str
    currency_words: str
    lines: list[PriceLine]
    price_summary: NotRequired[list[PriceLine]]
    net: str
    taxes: list[TaxRow]
    gross: str
    deposit: str
    balance: str
    forecast: NotRequired[ForecastPart]
    findings: list[FindingRow]
    accept: Accept
    terms: list[Clause]
    basis: NotRequired[str]


class Payment(TypedDict):
    date: str
    words: str
    amount: str


class Invoice(Sheet):
    """An invoice, deposit invoice or credit note: `title` says which. `due` is what is still to pay, by `due_date`.

    `how_to_pay` holds label and value rows (account, reference); `pay_url` adds a square code. Where it `credits`, nothing
    is to pay. `notes` are printed beneath, for instance a reason for exemption from tax.
    """

    title: str
    customer: Party
    order: str
    supply_date: str
    due_date: str
    currency: str
    currency_words: str
    lines: list[PriceLine]
    net: str
    taxes: list[TaxRow]
    gross: str
    paid: list[Payment]
    due: str
    how_to_pay: list[Pair]
    pay_url: NotRequired[str]
    credits: NotRequired[bool]
    notes: list[str]


class Field(TypedDict):
    """A box to write a measurement in: what, in which unit, and what is wanted."""

    label: str
    unit: str
    wanted: NotRequired[str]


class CardStage(TypedDict):
    """`minutes` and `wait` as words to read (1 h 20 min; 12 h in the clamps)."""

    label: str
    skill: str
    minutes: str
    wait: NotRequired[str]
    steps: list[str]
    fields: list[Field]


class StationRow(TypedDict):
    """One row of the table of stations, in the shop's units."""

    station: str
    chord: str
    thickness: str
    angle: str


class BuildCard(Sheet):
    """The guide that travels with the work. `station_units` heads the table of stations."""

    serial: str
    order: str
    ready_by: str
    drawing: Picture
    hub: NotRequired[Picture]
    summary: list[Pair]
    station_units: str
    stations: list[StationRow]
    stages: list[CardStage]
    cautions: list[str]


class Measured(TypedDict):
    """`within` is yes, no or "" where there is no limit."""

    label: str
    value: str
    wanted: str
    within: str


class RecordStage(TypedDict):
    label: str
    date: str
    person: str
    measured: list[Measured]
    remark: NotRequired[str]


class BuildRecord(Sheet):
    """What was measured on this very propeller, stage by stage. `released_by` is empty until released."""

    serial: str
    customer: str
    summary: list[Pair]
    stages: list[RecordStage]
    released_by: str
    released_on: str


class CareSheet(Sheet):
    """How to fit, re-check and keep it. Torque rows are this propeller's, in words, with their source.

    An empty `torque` prints that no figure is given and the engine maker's applies.
    """

    serial: str
    torque: list[Pair]
    torque_source: str
    track_limit: str
    summary: list[Pair]


class SerialLabel(Sheet):
    """The label on the crate and in the log book; `register_url` goes into the square code."""

    serial: str
    register_url: str


class PackedItem(TypedDict):
    item: str
    quantity: str


class PackingList(Sheet):
    customer: Party
    order: str
    serial: str
    crate: list[Pair]
    items: list[PackedItem]


KINDS: dict[str, type] = {
    "quote": Quote,
    "invoice": Invoice,
    "build-card": BuildCard,
    "build-record": BuildRecord,
    "care-sheet": CareSheet,
    "serial-label": SerialLabel,
    "packing-list": PackingList,
}


def missing_keys(kind: type, data: Any, where: str = "") -> list[str]:
    """Paths of the keys that `data` lacks to be a `kind`, such as lines[2].net; empty when complete."""
    if not isinstance(data, dict):
        return [where or "the whole"]
    hints = get_type_hints(kind)
    required: frozenset[str] = kind.__required_keys__  # type: ignore[attr-defined]
    missing = [f"{where}{key}" for key in sorted(required - data.keys())]
    for key in hints.keys() & data.keys():
        value, hint = data[key], hints[key]
        if is_typeddict(hint):
            missing += missing_keys(hint, value, f"{where}{key}.")
        elif get_origin(hint) is list and is_typeddict(get_args(hint)[0]):
            for i, row in enumerate(value):
                missing += missing_keys(get_args(hint)[0], row, f"{where}{key}[{i}].")
    return missing
