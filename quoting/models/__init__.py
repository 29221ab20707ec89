"""Tables of the quoting application."""

from quoting.models.catalogue import (
    Airframe,
    CatalogueRow,
    CatalogueStamp,
    EdgeGuard,
    Engine,
    EnteredBy,
    Finish,
    Glue,
    HubPattern,
    Timber,
    TipForm,
)
from quoting.models.counter import Counter
from quoting.models.freight_zone import FreightZone
from quoting.models.outlook import PlanOutlook
from quoting.models.price_book import PriceBookEntry, PriceBookVersion
from quoting.models.quote import Quote, QuoteSeries
from quoting.models.tax_rate import TaxRate

__all__ = [
    "Airframe",
    "CatalogueRow",
    "CatalogueStamp",
    "Counter",
    "EdgeGuard",
    "Engine",
    "EnteredBy",
    "Finish",
    "FreightZone",
    "Glue",
    "HubPattern",
    "PlanOutlook",
    "PriceBookEntry",
    "PriceBookVersion",
    "Quote",
    "QuoteSeries",
    "TaxRate",
    "Timber",
    "TipForm",
]
