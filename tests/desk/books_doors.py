"""The doors of the books, for the bookkeeper and the owner: name, parts of the path, whether it is a post."""

from django.db import transaction

from orders.models import Invoice
from orders.services import invoice
from tests.orders.shop import Shop

BOOKS: tuple[tuple[str, tuple[str, ...], bool], ...] = (
    ("pay-back-bank", ("order",), True),
    ("pay-back-card", ("order",), True),
    ("refund-bank", ("order",), True),
    ("refund-card", ("order",), True),
    ("carriage", ("order",), True),
    ("books", (), False),
    ("export", (), False),
    ("entry", ("entry",), False),
    ("reverse", ("entry",), True),
    ("months", (), False),
    ("close-month", (), True),
    ("open-month", (), True),
    ("money", (), False),
    ("payout", (), True),
    ("remit", (), True),
    ("invoices", (), False),
    ("invoice-page", ("bill",), False),
    ("credit", ("bill",), True),
)


def issued(shop: Shop) -> Invoice:
    """An invoice over nothing: a paper with a number of its own."""
    order = shop.order()
    sums = invoice.totals([], {}, prepaid=0)
    with transaction.atomic():
        return invoice.issue(shop.owner, order, "380", [], sums, today=shop.today, now=shop.now)
