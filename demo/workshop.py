"""The demo workshop: people, machines, price book, taxes, timber; opened by the service that opens a real one."""

import json
from contextlib import AbstractContextManager
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.conf import settings
from django.utils import timezone

from demo.people import PASSWORD
from orders.models import Workshop
from orders.services import opening, timber
from orders.who import THE_SERVICE
from quoting.pricing.money import Money

FOLDER = settings.BASE_DIR / "fixtures" / "demo"
START = settings.BASE_DIR / "fixtures" / "start"
"""What every workshop begins with: machines and racks, and a first price book."""
TAXES = (("DE", "DE-19", "VAT", 19_000), ("*", "EXPORT", "Export, no tax here", 0), ("NL", "NL-21", "VAT", 21_000),
         ("DK", "DK-25", "VAT", 25_000), ("SE", "SE-25", "VAT", 25_000), ("AT", "AT-20", "VAT", 20_000),
         ("FR", "FR-20", "VAT", 20_000), ("IT", "IT-22", "VAT", 22_000))  # fmt: skip
"""An example of an owner's tax table, from memory of 2026 standard rates; the owner's accountant decides."""
ZONES = (
    ("home", "Home", ["DE"], 3),
    ("near", "Neighbours", ["NL", "DK", "AT", "FR", "SE", "IT", "BE", "PL", "CZ"], 5),
    ("other", "Rest of Europe", ["GB", "NO", "CH", "ES", "PT", "FI", "IE"], 8),
    ("far", "Overseas", ["*"], 14),
)
LOTS = (
    ("B-117", "yellow-birch", "26 mm, 2.1 m long", 180, "9.4", 1260),
    ("M-052", "sugar-maple", "26 mm, 2.4 m long", 140, "9.1", 1120),
    ("W-031", "black-walnut", "26 mm, 2.0 m long", 75, "10.2", 1050),
    ("A-044", "white-ash", "32 mm, 2.2 m long", 90, "9.8", 585),
    ("K-008", "black-cherry", "26 mm, 1.9 m long", 60, "9.5", 480),
    ("BE-21", "american-beech", "26 mm, 2.2 m long", 110, "9.6", 605),
)
"""The shelf: lot, timber, boards, board feet, moisture in percent, what it cost; invented."""


def shop_file() -> dict[str, Any]:
    """Who and what the demo workshop is."""
    whole: dict[str, Any] = json.loads((FOLDER / "shop.json").read_text())
    return whole


def demo_time() -> AbstractContextManager[None]:
    """The demo workshop's own time zone, before there is a row to read it from."""
    return timezone.override(shop_file()["timezone"])


def open_demo(now: datetime) -> Workshop:
    """Everything but orders; the price book is in force since well before the first of them."""
    shop, today = shop_file(), timezone.localdate(now)
    workshop = opening.open_workshop(
        name=shop["name"],
        country=shop["country"],
        currency=shop["currency"],
        timezone=shop["timezone"],
        street="Kolkraben Yard 4",
        postcode="00001",
        city="Ostermoor",
        email="desk@fennfoot.example",
        phone="0000 123456",
        tax_id="DE000000000",
        bank_details=f"{shop['bank']['holder']}, IBAN {shop['bank']['iban']} ({shop['bank']['note']})",
    )
    start = json.loads((START / "shop.json").read_text())
    opening.lay_out_shop(start["machines"], start["racks"])
    for row in shop["people"]:
        user = opening.add_sign_in(row["name"], row["email"], row["roles"], PASSWORD)
        opening.add_person(row["key"], row["name"], row["skills"], row["week"], user)
    keeper = shop["bookkeeper"]
    opening.add_sign_in(keeper["name"], keeper["email"], ["bookkeeper"], PASSWORD)
    long_ago = today - timedelta(days=900)
    opening.first_price_book(START / "price_book.json", shop["currency"], long_ago)
    for country, code, label, percent in TAXES:
        opening.add_tax(country, code, label, percent, long_ago)
    for place, (code, name, countries, days) in enumerate(ZONES, start=1):
        opening.add_freight_zone(code, name, place, countries, days)
    for lot, code, boards, feet, moisture, cost in LOTS:
        came = today - timedelta(days=60)
        price = Money(Decimal(cost), shop["currency"])
        timber.add_lot(
            THE_SERVICE, timber.Lot(lot, code, boards, feet, Decimal(moisture), price, came), today=today, now=now
        )  # fmt: skip
    return workshop
