"""The worked price cases of cases.toml: our result against arithmetic worked out with exact fractions."""

import tomllib
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from quoting.pricing.book import PriceBook, starting_book
from quoting.pricing.lines import Category, Line, Price
from quoting.pricing.minutes import work_content
from quoting.pricing.money import Money
from quoting.pricing.price import price, totals
from quoting.pricing.tax import TaxRow
from quoting.pricing.terms import DepositRule, Discount, Override, QuantityBreak, Terms
from quoting.propeller.measures import Measures
from quoting.propeller.specification import Decal, Hardware, Specification
from tests.quoting.pricing.arithmetic import name_of, work_out
from tests.quoting.pricing.shapes import measures, tax_rows
from tests.quoting.samples import birch, brass_guard, specification, usual, varnish

DATA = tomllib.loads((Path(__file__).parent / "cases.toml").read_text())
CASES: list[dict[str, Any]] = DATA["case"]
BASE: dict[str, Any] = DATA["base"]
TOTALS = ("net", "tax", "gross", "deposit", "balance")
WHOLE = ("blades", "laminations", "bolt_holes", "lug_counterbores")

Names = dict[str, Fraction]


def of_kind(kind: str) -> Any:
    chosen = [case for case in CASES if case["kind"] == kind]
    return pytest.mark.parametrize("case", chosen, ids=[case["name"] for case in chosen])


def test_there_are_forty_cases_or_more_and_each_has_its_own_name() -> None:
    assert len({case["name"] for case in CASES}) == len(CASES) >= 40
    assert {case["kind"] for case in CASES} == {"document", "split", "price", "minutes"}


@of_kind("document")
def test_a_document_adds_up_as_written(case: dict[str, Any]) -> None:
    lines = [_line(n, *row, case["currency"]) for n, row in enumerate(case["lines"], 1)]
    rows = [TaxRow("GB", c, c, Decimal(p), date(2020, 1, 1)) for c, p in case["rates"].items()]
    least = Money(Decimal(case["deposit_least"]), case["currency"]) if "deposit_least" in case else None
    rule = DepositRule(Decimal(case.get("deposit_percent", "0")), least)
    _compare(case, _results(totals(lines, rows, case["currency"], rule, "none")), {})


@of_kind("split")
def test_a_split_gives_the_parts_as_written(case: dict[str, Any]) -> None:
    whole = Money(Decimal(case["amount"]), case["currency"])
    parts = [Fraction(m.amount) for m in whole.split([Decimal(w) for w in case["weights"]])]
    assert parts == [work_out(written, {}) for written in case["expect"]]
    assert sum(parts) == Fraction(case["amount"])


@of_kind("price")
def test_a_price_has_every_line_and_total_as_written(case: dict[str, Any]) -> None:
    got = _results(_price(case))
    expected = worked_out(case)
    lines = {key: value for key, value in got.items() if " " not in key}
    assert lines == {k: v for k, v in expected.items() if v or k in lines}
    _compare(case, got, {name_of(k): v for k, v in expected.items()})


@of_kind("minutes")
def test_a_stage_takes_the_minutes_as_written(case: dict[str, Any]) -> None:
    work = work_content(_measures(case), _specification(case), _book(case))
    stage = next(s for s in work if s.stage == case["stage"])
    _compare(case, {n: Fraction(getattr(stage, n)) for n in ("minutes", "wait_minutes")}, {})


def worked_out(case: dict[str, Any]) -> Names:
    """Lines and totals by key, from the arithmetic of the file alone."""
    written = BASE["measures"] | BASE["book"] | BASE["given"]
    written |= case.get("measures", {}) | case.get("book", {}) | case.get("given", {})
    names = {name_of(key): Fraction(value) for key, value in written.items()}
    own = dict(case.get("lines", []))
    found: Names = {}
    for part in ("define", "goods", "after", "totals"):
        for key, arithmetic in BASE["arithmetic"][part]:
            value = work_out(own.get(key, arithmetic), names)
            prefix = "" if part == "define" or key in TOTALS else "line_"
            names[prefix + name_of(key)] = value
            if part != "define":
                found[key] = value
        names[{"goods": "goods", "after": "total"}.get(part, part)] = sum(found.values(), Fraction(0))
    return found


def _compare(case: dict[str, Any], got: Names, names: Names) -> None:
    """Each written expectation against the result of its name; expectations may use the names before them."""
    for key, written in case.get("expect", []):
        expected = work_out(written, names)
        assert got[key] == expected, (key, written)
        names[name_of(key)] = expected
    for key, written in case.get("differs", []):
        assert got[key] != work_out(written, names), (key, written)


def _results(found: Price) -> Names:
    """Everything a case may name: lines by key, bases and taxes by code, totals."""
    amounts = {line.key: line.net for line in found.lines}
    amounts |= {f"tax {t.code}": t.tax for t in found.taxes} | {f"base {t.code}": t.base for t in found.taxes}
    amounts |= {name: getattr(found, name) for name in TOTALS}
    return {key: Fraction(money.amount) for key, money in amounts.items()}


def _line(number: int, quantity: str, rate: str, code: str, currency: str) -> Line:
    net = Money.rounded(Decimal(quantity) * Decimal(rate), currency)
    key, zero = f"line {number}", Money.zero(currency)
    return Line(key, Category.MATERIAL, "", Decimal(quantity), "", Decimal(rate), net, zero, code)


def _price(case: dict[str, Any]) -> Price:
    shape, of, under = _measures(case), _specification(case), _book(case)
    return price(shape, of, work_content(shape, of, under), under, _terms(case, under.currency))


def _measures(case: dict[str, Any]) -> Measures:
    written = BASE["measures"] | case.get("measures", {})
    return measures(**{k: int(v) if k in WHOLE else float(v) for k, v in written.items()})


def _specification(case: dict[str, Any]) -> Specification:
    return specification(
        timber=birch(workability=usual(float(case.get("workability", "1")))),
        finish=replace(varnish(), coats=case.get("coats", 3)),
        guard=brass_guard() if case.get("guard") else None,
        decal=Decal(case["decal"]) if "decal" in case else None,
        hardware=Hardware(face_plate_thickness=0.008, bolts_ordered=case.get("bolts", False)),
    )


def _book(case: dict[str, Any]) -> PriceBook:
    values = {k: Decimal(v) for k, v in (BASE["book"] | case.get("book", {})).items()}
    return starting_book("1", case.get("currency", "EUR"), date(2026, 1, 1)).redrafted("1", values)


def _terms(case: dict[str, Any], currency: str) -> Terms:
    changes: dict[str, Any] = {"country": case.get("country", "GB"), "zone": "other", **case.get("terms", {})}
    if "rush" in case:
        changes["rush"] = Money(Decimal(case["rush"]), currency)
    if "discount_percent" in case:
        changes["discount"] = Discount("spring", percent=Decimal(case["discount_percent"]))
    if "discount_amount" in case:
        changes["discount"] = Discount("spring", amount=Money(Decimal(case["discount_amount"]), currency))
    if "breaks" in case:
        changes["breaks"] = tuple(QuantityBreak(number, Decimal(off)) for number, off in case["breaks"])
    if "override" in case:
        own = {k: v if k == "key" else Decimal(v) for k, v in case["override"].items()}
        changes["overrides"] = (Override(**own, reason="agreed by telephone"),)
    rates = [_rate(*row) for row in case["rates"]] if "rates" in case else tax_rows()
    return Terms(on=date.fromisoformat(case.get("on", "2026-06-01")), taxes=tuple(rates), **changes)


def _rate(country: str, percent: str, first: str, last: str) -> TaxRow:
    until = date.fromisoformat(last) if last else None
    return TaxRow(country, "S", "VAT", Decimal(percent), date.fromisoformat(first), until)
