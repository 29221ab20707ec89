"""Laws of the price: lines sum to totals, more never costs less, and nothing depends on order or on the day."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.pricing.entries import DEFINITIONS
from quoting.pricing.lines import Category, Price
from quoting.pricing.minutes import work_content
from quoting.pricing.money import EXPONENTS, Money, total
from quoting.pricing.price import deposit_rule, price, totals
from quoting.pricing.summary import summary
from quoting.pricing.tax import TaxRow, rates_for
from quoting.pricing.terms import Discount, Override
from quoting.propeller.measures import Measures
from quoting.propeller.specification import Decal, Hardware, Specification
from tests.quoting.pricing.shapes import book, measures, priced, tax_rows, terms
from tests.quoting.samples import birch, brass_guard, specification, usual, varnish

shapes = st.builds(
    measures,
    blades=st.integers(2, 6),
    boss_diameter=st.floats(0.08, 0.4),
    boss_thickness=st.floats(0.03, 0.25),
    boss_width_ratio=st.floats(0.5, 3),
    blade_surface=st.floats(0.05, 3),
    wood_removed=st.floats(0, 0.2),
    laminations=st.integers(1, 20),
    board_feet=st.floats(0.5, 120),
    glue_area=st.floats(0, 12),
    guard_length=st.floats(0, 4),
    bolt_holes=st.integers(4, 12),
    lug_counterbores=st.integers(0, 12),
    mass=st.floats(0.5, 60),
    crate_length=st.floats(0.5, 4),
    crate_width=st.floats(0.1, 2),
    crate_height=st.floats(0.1, 1),
)
specifications = st.builds(
    specification,
    timber=st.floats(0.3, 2).map(lambda ease: birch(workability=usual(ease))),
    finish=st.integers(0, 9).map(lambda coats: replace(varnish(), coats=coats)),
    guard=st.sampled_from([None, brass_guard()]),
    decal=st.sampled_from([None, Decal("OSTERMOOR"), Decal("7", both_blades=False)]),
    hardware=st.sampled_from([Hardware(), Hardware(face_plate_thickness=0.008, bolts_ordered=True)]),
    quantity=st.integers(1, 60),
)
"""Values of nothing too: a price must add up whatever the owner enters."""
books = st.builds(
    lambda currency, values: book(currency=currency).redrafted("2026-2", values),
    st.sampled_from(["EUR", "JPY", "KWD"]),
    st.fixed_dictionaries(
        {},
        optional={
            d.key: st.decimals(d.low, min(d.high, Decimal(50)), places=2)
            for d in DEFINITIONS.values()
            if not d.is_family and not d.key.startswith(("shop.temp", "varnish.coats")) and d.low <= 50
        },
    ),
)
two_rates = (
    *tax_rows(),
    TaxRow("GB", "R", "reduced", Decimal("5"), tax_rows()[0].valid_from, None, (Category.FREIGHT,)),
    TaxRow("GB", "M", "timber", Decimal("7.7"), tax_rows()[0].valid_from, None, (Category.MATERIAL,)),
)
conditions = st.builds(
    terms,
    taxes=st.sampled_from([tax_rows(), two_rates]),
    discount=st.sampled_from([None, Discount("spring", percent=Decimal("12.5"))]),
    zone=st.sampled_from(["home", "collect"]),
    crate=st.booleans(),
    insured=st.booleans(),
    duty_paid=st.booleans(),
)
moderate = settings(max_examples=60, deadline=None)


@moderate
@given(shapes, specifications, books, conditions)
def test_lines_sum_to_every_total_in_every_currency(
    shape: Measures, of: Specification, under: Any, on: Any
) -> None:
    found = priced(shape, of, under, on)
    assert sum(line.net.minor for line in found.lines) == found.net.minor
    assert sum(line.cost.minor for line in found.lines) == found.cost.minor
    assert sum(t.base.minor for t in found.taxes) == found.net.minor
    assert found.net.minor + sum(t.tax.minor for t in found.taxes) == found.gross.minor
    assert found.deposit + found.balance == found.gross
    assert sum(s.amount.minor for s in summary(found)) == found.net.minor


@moderate
@given(shapes, specifications, books, conditions)
def test_every_line_is_its_quantity_times_its_rate(
    shape: Measures, of: Specification, under: Any, on: Any
) -> None:
    found = priced(shape, of, under, on)
    assert [n.net for n in found.lines] == [
        Money.rounded(n.quantity * n.rate, found.currency) for n in found.lines
    ]
    assert all(line.rate >= 0 for line in found.lines)


@moderate
@given(shapes, specifications, books, conditions)
def test_pricing_again_under_the_same_book_is_identical(
    shape: Measures, of: Specification, under: Any, on: Any
) -> None:
    assert priced(shape, of, under, on) == priced(shape, of, under, on)


@moderate
@given(shapes, specifications, books, conditions, st.randoms(use_true_random=False))
def test_the_order_of_lines_stages_rates_and_changes_does_not_matter(
    shape: Measures, of: Specification, under: Any, on: Any, chance: Any
) -> None:
    changes = [
        Override("timber", "own stock", rate=Decimal(2)),
        Override("shop", "quiet month", quantity=Decimal(3)),
    ]
    work = list(work_content(shape, of, under))
    straight = price(shape, of, tuple(work), under, replace(on, overrides=tuple(changes)))
    rows, lines = list(on.taxes), list(straight.lines)
    for mixed in (changes, work, rows, lines):
        chance.shuffle(mixed)
    again = price(shape, of, tuple(work), under, replace(on, overrides=tuple(changes), taxes=tuple(rows)))
    assert again == straight
    rates = rates_for(rows, on.country, on.on).rows
    assert totals(lines, rates, under.currency, deposit_rule(under, on), under.version) == straight


def grown(shape: Measures, name: str, by: float) -> Measures:
    value = getattr(shape, name)
    return replace(shape, **{name: value + (1 if isinstance(value, int) else by)})


MORE_WOOD = ["board_feet", "wood_removed", "laminations", "glue_area"]
LARGER = [
    "blade_surface",
    "guard_length",
    "mass",
    "crate_length",
    "crate_width",
    "crate_height",
    "boss_width_ratio",
]
steady = st.booleans().map(lambda paid: terms(insured=paid, duty_paid=paid))


@moderate
@given(shapes, specifications, books, steady, st.sampled_from([*MORE_WOOD, *LARGER]), st.floats(0.0001, 0.5))
def test_more_wood_and_a_larger_propeller_never_cost_less(
    shape: Measures, of: Specification, under: Any, on: Any, name: str, by: float
) -> None:
    assert priced(shape, of, under, on).net <= priced(grown(shape, name, by), of, under, on).net


@moderate
@given(shapes, specifications, books, steady, st.floats(1, 1.5))
def test_a_larger_diameter_with_all_that_grows_with_it_never_costs_less(
    shape: Measures, of: Specification, under: Any, on: Any, by: float
) -> None:
    lengths = {n: getattr(shape, n) * by for n in ("diameter", "guard_length", "crate_length")}
    areas = {
        n: getattr(shape, n) * by
        for n in ("blade_surface", "glue_area", "board_feet", "wood_removed", "mass")
    }
    assert priced(shape, of, under, on).net <= priced(replace(shape, **lengths, **areas), of, under, on).net


@moderate
@given(shapes, specifications, books, steady, st.integers(1, 5))
def test_more_coats_never_cost_less(
    shape: Measures, of: Specification, under: Any, on: Any, more: int
) -> None:
    few = replace(of, finish=replace(of.finish, coats=max(of.finish.coats, 1)))
    many = replace(of, finish=replace(of.finish, coats=few.finish.coats + more))
    assert priced(shape, few, under, on).net <= priced(shape, many, under, on).net


@moderate
@given(shapes, specifications, books, steady, st.floats(0.01, 1))
def test_a_less_workable_timber_never_costs_less(
    shape: Measures, of: Specification, under: Any, on: Any, by: float
) -> None:
    hard = replace(of, timber=replace(of.timber, workability=usual(of.timber.workability.value + by)))
    assert priced(shape, of, under, on).net <= priced(shape, hard, under, on).net


@moderate
@given(shapes, specifications, books, conditions, st.integers(0, 10**7))
def test_rush_never_costs_less(shape: Measures, of: Specification, under: Any, on: Any, minor: int) -> None:
    rush = Money.from_minor(minor, under.currency)
    assert priced(shape, of, under, on).net <= priced(shape, of, under, replace(on, rush=rush)).net


@given(
    st.integers(-(10**12), 10**12),
    st.sampled_from(sorted(EXPONENTS)),
    st.lists(st.integers(0, 10**6), min_size=1, max_size=50).filter(any),
)
def test_parts_of_a_split_sum_to_the_whole(minor: int, currency: str, weights: list[int]) -> None:
    whole = Money.from_minor(minor, currency)
    assert total(whole.split(weights), currency) == whole


@given(st.integers(-(10**12), 10**12), st.integers(1, 50))
def test_parts_of_equal_weight_differ_by_a_unit_at_most(minor: int, parts: int) -> None:
    amounts = [m.minor for m in Money.from_minor(minor, "EUR").split([1] * parts)]
    assert max(amounts) - min(amounts) <= 1


def test_the_price_is_not_the_same_for_everything() -> None:
    """The laws above would hold for a price of nothing: here it is seen to move."""
    plain: Price = priced()
    dearer = [
        priced(measures(board_feet=12.0)),
        priced(of=specification(finish=replace(varnish(), coats=5))),
        priced(of=specification(timber=birch(workability=usual(1.3)))),
        priced(on=terms(rush=Money(Decimal("90.00"), "EUR"))),
    ]
    assert all(plain.net < other.net for other in dearer)
