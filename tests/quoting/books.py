"""A price book, tax table and freight zones for tests that store and price."""

from datetime import date
from decimal import Decimal
from functools import cache

from django.conf import settings

from quoting.models import FreightZone, PriceBookVersion, TaxRate
from quoting.pricing.book import starting_book
from quoting.services.catalogue import TABLES, Catalogue, frozen, with_engine_names
from quoting.services.catalogue_load import read_rows
from quoting.services.pricebook import draft_book, put_in_force

TODAY = date(2026, 9, 14)
FOLDER = settings.BASE_DIR / "fixtures" / "catalogue"


@cache
def catalogue_of_files() -> Catalogue:
    """The catalogue as the files give it, without a database."""
    kinds = (
        {row.code: frozen(kind, table(code=row.code, name=row.name, values=row.values)) for row in rows}
        for kind, table in TABLES.items()
        for rows in [read_rows(kind, FOLDER / f"{kind}.toml")]
    )
    timbers, hubs, engines, airframes, glues, finishes, guards, tips = kinds
    airframes = with_engine_names(airframes, engines)
    return Catalogue(timbers, hubs, engines, airframes, glues, finishes, guards, tips)


def drafted(version: str = "2026-1", currency: str = "EUR") -> PriceBookVersion:
    return draft_book(version, currency, starting_book(version, currency, TODAY).to_rows())


def in_force(version: str = "2026-1", effective_from: date = date(2026, 1, 1)) -> PriceBookVersion:
    book = drafted(version)
    put_in_force(book, effective_from)
    return book


def set_up_shop() -> PriceBookVersion:
    """A book in force, two zones and a tax table: 19 % at home, nothing elsewhere."""
    FreightZone.objects.create(code="home", name="Home", order=1, countries=["DE"])
    FreightZone.objects.create(code="far", name="Far", order=2, countries=["*"])
    for country, percent in (("DE", Decimal(19)), ("*", Decimal(0))):
        TaxRate.objects.create(
            code=f"{country}-general",
            label="VAT",
            country=country,
            percent_milli=int(percent * 1000),
            valid_from=date(2020, 1, 1),
        )
    return in_force()
