"""Take-off: what is bought for a quote, in quantities and at what it costs the shop, with the workings of each."""

from dataclasses import dataclass
from decimal import Decimal

from quoting.pricing.book import PriceBook
from quoting.pricing.lines import Category, StageMinutes, Working
from quoting.pricing.minutes import coats, crate_board
from quoting.pricing.money import round_half_up
from quoting.pricing.refusal import refuse
from quoting.pricing.tally import exact, fact
from quoting.propeller.measures import Measures
from quoting.propeller.specification import Specification


@dataclass(frozen=True, slots=True)
class Item:
    """Something a price line is made of: `cost_rate` is what one `unit` costs the shop."""

    key: str
    category: Category
    label: str
    quantity: Decimal
    unit: str
    cost_rate: Decimal
    workings: tuple[Working, ...] = ()


def times(*factors: Working, places: int) -> Decimal:
    """Product of the factors, a percent counting as an allowance on top; rounded half up to `places`."""
    product = Decimal(1)
    for factor in factors:
        product *= 1 + factor.value / 100 if factor.unit == "percent" else factor.value
    return round_half_up(product, places)


def materials(measures: Measures, specification: Specification, book: PriceBook, quantity: int) -> list[Item]:
    """Timber in board feet with planing and defect allowance, glue, varnish, and what is used up."""
    number = pieces(quantity)
    return [
        _timber(measures, specification, book, number),
        _glue(measures, specification, book, number),
        _varnish(measures, specification, book, number),
        _item(
            Category.MATERIAL,
            "consumables",
            "abrasives, tape, brushes",
            "propeller",
            book,
            "consumables.price",
            number,
        ),
    ]


def options(measures: Measures, specification: Specification, book: PriceBook, quantity: int) -> list[Item]:
    """Leading-edge guard by length, bolts and plate where ordered, film for the decals."""
    number = pieces(quantity)
    items: list[Item] = []
    length = exact(measures.guard_length, "guard_length")
    if specification.guard is not None and length:
        key = book.key_for("guard.price", specification.guard.code)
        metres = fact("guard", length, "m", "geometry: guard_length")
        label = f"leading-edge guard, {specification.guard.name}"
        items.append(_item(Category.OPTION, "guard", label, "m", book, key, metres, number, places=2))
    if specification.hardware.bolts_ordered:
        holes = fact("bolts", measures.bolt_holes, "bolt", "geometry: bolt_holes")
        items.append(
            _item(Category.OPTION, "bolts", "propeller bolts", "bolt", book, "hardware.bolt", holes, number)
        )
        if specification.hardware.face_plate_thickness > 0:
            items.append(
                _item(Category.OPTION, "plate", "face plate", "plate", book, "hardware.plate", number)
            )
    if specification.decal is not None:
        each = fact(
            "decals",
            measures.blades if specification.decal.both_blades else 1,
            "decal",
            "specification: decal",
        )
        items.append(
            _item(Category.OPTION, "decal", "decal film", "decal", book, "decal.price", each, number)
        )
    return items


def artwork(specification: Specification, book: PriceBook) -> list[Item]:
    """Drawing of the decal: once for a quote, whatever the quantity."""
    if specification.decal is None:
        return []
    letters = sum(not c.isspace() for c in specification.decal.text)
    base, each = book.working("artwork.hours"), book.working("artwork.per_letter")
    hours = round_half_up(base.value + each.value * letters, 2)
    counted = fact("letters", letters, "letter", "specification: decal")
    workings = (base, each, counted, book.working("artwork.rate"))
    return [Item("artwork", Category.ARTWORK, "decal artwork", hours, "h", book["artwork.rate"], workings)]


def labour(work: tuple[StageMinutes, ...], book: PriceBook, quantity: int) -> list[Item]:
    """Hours of each stage that has any, at what its skill costs, and the shop rate on all of them."""
    items = [_stage(stage, book, quantity) for stage in work if stage.minutes > 0]
    hours = sum((i.quantity for i in items), Decimal(0))
    counted = fact("hours of all stages", hours, "h", "minutes per stage")
    shop = Item(
        "shop",
        Category.SHOP,
        "bench, machines and heat",
        hours,
        "h",
        book["shop.rate"],
        (counted, book.working("shop.rate")),
    )
    return [*items, shop]


def crates(measures: Measures, book: PriceBook, quantity: int) -> list[Item]:
    """One crate for each propeller: its boarding and what goes with it."""
    number = pieces(quantity)
    return [
        _item(Category.CRATE, "crate", "crate, fittings", "crate", book, "crate.price", number),
        _item(
            Category.CRATE,
            "crate.board",
            "crate, boarding",
            "m2",
            book,
            "crate.board",
            crate_board(measures),
            number,
            places=3,
        ),
    ]


def pieces(quantity: int) -> Working:
    return fact("propellers", quantity, "propeller", "quantity ordered")


def _timber(measures: Measures, specification: Specification, book: PriceBook, number: Working) -> Item:
    timber = specification.timber
    net = fact("laminations as cut", exact(measures.board_feet, "board_feet"), "bf", "geometry: board_feet")
    key = book.key_for("timber.price", timber.code)
    factors = (net, book.working("timber.planing"), book.working("timber.defect"), number)
    return _item(Category.MATERIAL, "timber", timber.name, "bf", book, key, *factors, places=2)


def _glue(measures: Measures, specification: Specification, book: PriceBook, number: Working) -> Item:
    glue = specification.glue
    area = fact("glue joints", exact(measures.glue_area, "glue_area"), "m2", "geometry: glue_area")
    spread = fact("spread", exact(glue.spread.value, "glue.spread"), "kg/m2", f"catalogue: glue {glue.code}")
    key = book.key_for("glue.price", glue.code)
    factors = (area, spread, book.working("glue.waste"), number)
    return _item(Category.MATERIAL, "glue", glue.name, "kg", book, key, *factors, places=3)


def _varnish(measures: Measures, specification: Specification, book: PriceBook, number: Working) -> Item:
    finish = specification.finish
    surface = fact("surface", exact(measures.blade_surface, "blade_surface"), "m2", "geometry: blade_surface")
    coverage = exact(finish.spread.value, "finish.spread")
    if not coverage:
        raise refuse(
            "measure-out-of-bounds", "finish.spread", "A finish must cover more than nothing for each litre."
        )
    per_coat = fact(
        f"litres a coat at {coverage} m2 a litre", 1 / coverage, "l/m2", f"catalogue: finish {finish.code}"
    )
    number_of_coats = fact("coats", coats(specification, book), "coat", f"finish {finish.code}")
    key = book.key_for("varnish.price", finish.code)
    factors = (surface, per_coat, number_of_coats, book.working("varnish.waste"), number)
    return _item(Category.MATERIAL, "varnish", finish.name, "l", book, key, *factors, places=3)


def _stage(stage: StageMinutes, book: PriceBook, quantity: int) -> Item:
    hours = round_half_up(Decimal(stage.minutes * quantity) / 60, 2)
    key = book.key_for("labour.rate", stage.skill)
    minutes = fact("minutes each", stage.minutes, "min", f"stage: {stage.stage}")
    workings = (*stage.workings, minutes, pieces(quantity), book.working(key))
    return Item(f"labour.{stage.stage}", Category.LABOUR, stage.label, hours, "h", book[key], workings)


def _item(
    category: Category,
    key: str,
    label: str,
    unit: str,
    book: PriceBook,
    price_key: str,
    *factors: Working,
    places: int = 0,
) -> Item:
    quantity = times(*factors, places=places)
    return Item(key, category, label, quantity, unit, book[price_key], (*factors, book.working(price_key)))
