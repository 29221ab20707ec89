"""Addresses written into mails and documents: secret links to an enquiry, a quote, an order."""

from django.conf import settings

from orders.models import Enquiry, Order
from quoting.models import Quote


def enquiry_link(enquiry: Enquiry) -> str:
    return f"{settings.BASE_URL}/enquiry/{enquiry.token}/"


def quote_link(quote: Quote) -> str:
    return f"{settings.BASE_URL}/quote/{quote.token}/"


def order_link(order: Order) -> str:
    return f"{settings.BASE_URL}/order/{order.token}/"


def desk_link(about: Enquiry | Order | None = None) -> str:
    """The desk's page of an enquiry or an order, else its first page."""
    if about is None:
        return f"{settings.BASE_URL}/desk/"
    page = "orders" if isinstance(about, Order) else "enquiries"
    return f"{settings.BASE_URL}/desk/{page}/{about.number}/"
