"""The price: take-off, labour, shop, crate and freight at the price book's rates, as lines that sum exactly."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from quoting.pricing.book import PriceBook
from quoting.pricing.freight import carriage, duty, insurance
from quoting.pricing.lines import Category, Line, Price, StageMinutes, Working
from quoting.pricing.money import EXPONENTS, Money, round_half_up, total
from quoting.pricing.refusal import refuse
from quoting.pricing.takeoff import Item, artwork, crates, labour, materials, options
from quoting.pricing.tally import check_measures, fact
from quoting.pricing.tax import TaxRates, TaxRow, rates_for, taxes
from quoting.pricing.terms import COLLECT, DepositRule, Extra, Override, QuantityBreak, Terms, check_quantity
from quoting.propeller.build import CRATING, STAGES
from quoting.propeller.measures import Measures
from quoting.propeller.specification import Specification

MOST_MINOR = 10**12
"""No total may reach this, in minor units: far inside a 64-bit integer."""

MOST_LINES = 200

_CATEGORIES = list(Category)
_STAGES = {f"labour.{stage}": place for place, stage in enumerate(STAGES)}
_MARKED_UP = {
    Category.MATERIAL,
    Category.LABOUR,
    Category.SHOP,
    Category.OPTION,
    Category.ARTWORK,
    Category.CRATE,
    Category.FREIGHT,
}


@dataclass(frozen=True)
class _Deal:
    """Book, terms and tax rates that every line is made under."""

    book: PriceBook
    terms: Terms
    rates: TaxRates
    quantity: int

    @property
    def currency(self) -> str:
        return self.book.currency


def price(
    measures: Measures,
    specification: Specification,
    work: tuple[StageMinutes, ...],
    book: PriceBook,
    terms: Terms,
) -> Price:
    """The price of a specification under a price book and terms; the same input gives the same price for ever.

    Lines: quantity x rate, rounded half up each. Net is their sum, tax is computed per rate on the sum of its lines
    (EN 16931), the deposit is rounded once and the balance is the rest. Raises `Refused` (a ValueError with a
    finding) naming the field where measures, terms or book cannot be priced.
    """
    check_measures(measures)
    deal = _deal(specification, book, terms)
    goods, least = _goods(measures, specification, work, deal)
    goods += _least_margin(least, deal)
    goods += _quantity_break(goods, deal)
    value = total((line.net for line in goods), deal.currency)
    sent = _freight(measures, value, deal)
    lines = goods + sent + _rush(deal) + _discount(goods, value, deal)
    _all_overrides_used(lines, terms.overrides)
    lines += _rounding(lines, deal)
    return totals(lines, deal.rates.rows, book.currency, deposit_rule(book, terms), book.version)


def totals(
    lines: Iterable[Line], rows: Sequence[TaxRow], currency: str, deposit: DepositRule, price_book: str
) -> Price:
    """Add lines up: their order does not matter. Raises `Refused` for a negative or absurd total."""
    placed = tuple(sorted(lines, key=_place))
    by_rate = taxes(placed, rows, currency)
    net = total((n.net for n in placed), currency)
    tax = total((t.tax for t in by_rate), currency)
    gross = net + tax
    if net.amount < 0 or gross.minor >= MOST_MINOR or len(placed) > MOST_LINES:
        raise refuse("total", "overrides", f"A total of {gross} on {len(placed)} lines cannot be quoted.")
    asked = deposit.of(gross)
    cost = total((n.cost for n in placed), currency)
    return Price(currency, placed, by_rate, net, tax, gross, asked, gross - asked, cost, price_book)


def _place(line: Line) -> tuple[int, int, str]:
    return _CATEGORIES.index(line.category), _STAGES.get(line.key, len(_STAGES)), line.key


def deposit_rule(book: PriceBook, terms: Terms) -> DepositRule:
    """The terms' own rule, or the price book's."""
    least = Money.rounded(book["deposit.least"], book.currency)
    return terms.deposit or DepositRule(book["deposit.percent"], least if least else None)


def quantity_breaks(book: PriceBook, terms: Terms) -> tuple[QuantityBreak, ...]:
    """The terms' own breaks, or the price book's; smallest first."""
    if terms.breaks is not None:
        return tuple(sorted(terms.breaks, key=lambda b: b.at_least))
    family = book.family("quantity.break").items()
    own = [QuantityBreak(int(code), entry.value) for code, entry in family]
    return tuple(sorted(own, key=lambda b: b.at_least))


def _deal(specification: Specification, book: PriceBook, terms: Terms) -> _Deal:
    amounts = {
        "rush": terms.rush,
        "rounding_step": terms.rounding_step,
        "discount.amount": terms.discount.amount if terms.discount else None,
        "deposit.least": terms.deposit.least if terms.deposit else None,
    }
    for field, amount in amounts.items():
        if amount is not None and amount.currency != book.currency:
            raise refuse("currency", field, f"{amount} is not in {book.currency}, the price book's currency.")
    quantity = check_quantity(specification.quantity if terms.quantity is None else terms.quantity)
    return _Deal(book, terms, rates_for(terms.taxes, terms.country, terms.on), quantity)


def _goods(
    measures: Measures, specification: Specification, work: tuple[StageMinutes, ...], deal: _Deal
) -> tuple[list[Line], list[Line]]:
    """Lines of the goods with the owner's changes, and the same without them."""
    book, terms = deal.book, deal.terms
    done = tuple(w for w in work if terms.crate or w.stage != CRATING)
    items = materials(measures, specification, book, deal.quantity)
    items += options(measures, specification, book, deal.quantity)
    items += artwork(specification, book)
    items += labour(done, book, deal.quantity)
    items += crates(measures, book, deal.quantity) if terms.crate else []
    worked_out = [_line(item, deal, None) for item in items]
    changed = [_line(item, deal, _override(item.key, deal)) for item in items]
    return changed + [_extra(extra, deal) for extra in terms.extras], worked_out


def _override(key: str, deal: _Deal) -> Override | None:
    return next((o for o in deal.terms.overrides if o.key == key), None)


def _line(item: Item, deal: _Deal, override: Override | None) -> Line:
    rate = item.cost_rate
    markup: tuple[Working, ...] = ()
    if item.category in _MARKED_UP:
        working = deal.book.working(f"markup.{item.category}")
        rate, markup = _rounded_rate(item.cost_rate * (1 + working.value / 100), deal), (working,)
    quantity, reason = item.quantity, ""
    workings: tuple[Working, ...] = item.workings + markup
    if override is not None:
        reason = override.reason
        if override.quantity is not None:
            quantity = override.quantity
            workings += (fact("quantity by hand", quantity, item.unit, f"owner: {reason}"),)
        if override.rate is not None:
            rate = override.rate
            workings += (fact("rate by hand", rate, f"{deal.currency}/{item.unit}", f"owner: {reason}"),)
    return Line(
        key=item.key,
        category=item.category,
        label=item.label,
        quantity=quantity,
        unit=item.unit,
        rate=rate,
        net=Money.rounded(quantity * rate, deal.currency),
        cost=Money.rounded(quantity * item.cost_rate, deal.currency),
        tax_code=deal.rates.row(item.category).code,
        workings=workings,
        reason=reason,
    )


def _rounded_rate(rate: Decimal, deal: _Deal) -> Decimal:
    """Rates keep two places more than the currency: EN 16931 leaves the unit price free."""
    return round_half_up(rate, EXPONENTS[deal.currency] + 2)


def _extra(extra: Extra, deal: _Deal) -> Line:
    return Line(
        key=f"extra.{extra.key}",
        category=extra.category,
        label=extra.label,
        quantity=extra.quantity,
        unit=extra.unit,
        rate=extra.rate,
        net=Money.rounded(extra.quantity * extra.rate, deal.currency),
        cost=Money.rounded(extra.quantity * extra.cost_rate, deal.currency),
        tax_code=deal.rates.row(extra.category).code,
        workings=(
            fact("added by hand", extra.rate, f"{deal.currency}/{extra.unit}", f"owner: {extra.reason}"),
        ),
        reason=extra.reason,
    )


def _least_margin(worked_out: Sequence[Line], deal: _Deal) -> list[Line]:
    """What is missing to the least margin on the goods as worked out; the owner's own changes are theirs."""
    percent = deal.book.working("margin.least")
    net = total((n.net for n in worked_out), deal.currency)
    cost = total((n.cost for n in worked_out), deal.currency)
    missing = Money.rounded(cost.amount / (1 - percent.value / 100), deal.currency) - net
    if missing.amount <= 0:
        return []
    origin = f"price book {deal.book.version}: margin.least, on the sum of all costs"
    shown = (fact("cost", cost.amount, deal.currency, origin), percent)
    item = Item("margin.least", Category.MARGIN, "minimum charge", Decimal(1), "lump", missing.amount, shown)
    line = _line(item, deal, _override(item.key, deal))
    return [replace(line, cost=Money.zero(deal.currency))]


def _quantity_break(goods: Sequence[Line], deal: _Deal) -> list[Line]:
    earned = [b for b in quantity_breaks(deal.book, deal.terms) if b.at_least <= deal.quantity]
    if not earned or not earned[-1].percent:
        return []
    best = earned[-1]
    base = total((n.net for n in goods), deal.currency)
    off = base.times(best.percent / 100)
    workings = (
        fact("quantity", deal.quantity, "propeller", "quantity ordered"),
        fact("goods", base.amount, deal.currency, "sum of the lines"),
        fact(
            "off", best.percent, "percent", f"price book {deal.book.version}: quantity.break.{best.at_least}"
        ),
    )
    label = f"for {best.at_least} or more together"
    return _document_lines("quantity-break", Category.DISCOUNT, label, -off, goods, workings, deal)


def _freight(measures: Measures, value: Money, deal: _Deal) -> list[Line]:
    terms, book = deal.terms, deal.book
    if terms.zone == COLLECT:
        return []
    items = carriage(measures, book, terms.zone, deal.quantity, crated=terms.crate)
    items += [insurance(value, book)] if terms.insured else []
    items += [duty(value, book, terms.zone)] if terms.duty_paid else []
    return [_line(item, deal, _override(item.key, deal)) for item in items]


def _rush(deal: _Deal) -> list[Line]:
    rush = deal.terms.rush
    if rush is None or not rush:
        return []
    working = fact("surcharge", rush.amount, deal.currency, "what going first costs those who wait")
    item = Item("rush", Category.RUSH, "rush", Decimal(1), "lump", rush.amount, (working,))
    return [replace(_line(item, deal, _override("rush", deal)), cost=Money.zero(deal.currency))]


def _discount(goods: Sequence[Line], value: Money, deal: _Deal) -> list[Line]:
    discount = deal.terms.discount
    if discount is None:
        return []
    off = value.times(discount.percent / 100) if discount.percent is not None else discount.amount
    assert off is not None
    if value < off:
        raise refuse("discount", "discount.amount", f"A discount of {off} is more than the goods at {value}.")
    working = fact("discount", off.amount, deal.currency, f"owner: {discount.reason}")
    lines = _document_lines("discount", Category.DISCOUNT, "discount", -off, goods, (working,), deal)
    return [replace(line, reason=discount.reason) for line in lines]


def _rounding(lines: Sequence[Line], deal: _Deal) -> list[Line]:
    """To the nearest step, halves up; a step that is not set by the terms is the price book's."""
    step = deal.terms.rounding_step or Money.rounded(deal.book["rounding.step"], deal.currency)
    if not step:
        return []
    net = total((n.net for n in lines), deal.currency)
    rounded = Money(round_half_up(net.amount / step.amount, 0) * step.amount, deal.currency)
    working = fact("step", step.amount, deal.currency, f"price book {deal.book.version}: rounding.step")
    return _document_lines("rounding", Category.MARGIN, "rounding", rounded - net, lines, (working,), deal)


def _document_lines(
    key: str,
    category: Category,
    label: str,
    amount: Money,
    over: Sequence[Line],
    workings: tuple[Working, ...],
    deal: _Deal,
) -> list[Line]:
    """An amount on the whole document, shared over the tax rates of the lines it stands for.

    What is taken off has quantity -1: EN 16931 (BR-27) wants no negative price.
    """
    if not amount:
        return []
    bases = {
        r.code: total((n.net for n in over if n.tax_code == r.code), deal.currency) for r in deal.rates.rows
    }
    positive = {code: base for code, base in sorted(bases.items()) if base.amount > 0}
    weights = positive or {deal.rates.general.code: Money(Decimal(1), deal.currency)}
    parts = zip(weights, amount.split([base.minor for base in weights.values()]), strict=True)
    return [
        Line(
            key=key if len(weights) == 1 else f"{key}.{code}",
            category=category,
            label=label,
            quantity=Decimal(1).copy_sign(part.amount),
            unit="lump",
            rate=abs(part.amount),
            net=part,
            cost=Money.zero(deal.currency),
            tax_code=code,
            workings=workings,
        )
        for code, part in parts
        if part
    ]


def _all_overrides_used(lines: Sequence[Line], overrides: Sequence[Override]) -> None:
    keys = {line.key for line in lines if line.category is not Category.DISCOUNT}
    for override in overrides:
        if override.key not in keys:
            raise refuse(
                "override",
                f"overrides.{override.key}",
                f"This quote has no line {override.key[:80]!r} to change.",
            )
