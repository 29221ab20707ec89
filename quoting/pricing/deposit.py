"""What follows a deposit: what is kept on cancelling, the fee for a change, storage of a propeller nobody has paid.

The figures are the price book's, so a quote's terms and the later reckoning are of one version. Whether a shop may
keep them is for its terms of sale and its accountant to say.
"""

from decimal import Decimal

from quoting.pricing.book import PriceBook
from quoting.pricing.money import Money
from quoting.pricing.refusal import within


def kept_on_cancelling(paid: Money, book: PriceBook, *, wood_cut: bool) -> Money:
    """The share of a paid deposit that is kept; the rest is paid back, and both sum to what was paid.

    Raises ValueError for another currency than the book's or a negative payment.
    """
    _of_the_book(paid, book)
    percent = book["deposit.kept_cut"] if wood_cut else book["deposit.kept_uncut"]
    return paid.times(percent / 100)


def change_fee(book: PriceBook) -> Money:
    """What a change costs after the drawing was approved."""
    return Money.rounded(book["change.fee"], book.currency)


def storage(book: PriceBook, days_ready: int) -> Money:
    """Storage of a ready, unpaid propeller: each week begun after the free weeks. Raises ValueError below 0 days."""
    within(Decimal(days_ready), Decimal(0), Decimal(36_500), "days_ready", "days")
    begun = -(-days_ready // 7)
    charged = max(Decimal(begun) - book["storage.free_weeks"], Decimal(0))
    return Money.rounded(charged * book["storage.per_week"], book.currency)


def _of_the_book(amount: Money, book: PriceBook) -> None:
    if amount.currency != book.currency:
        raise ValueError(f"{amount} is not in {book.currency}, the price book's currency")
    within(amount.amount, Decimal(0), Decimal(10) ** 12, "paid", book.currency)
