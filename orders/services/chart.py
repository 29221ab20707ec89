"""The chart of accounts and which step of an order touches which account: the table a bookkeeper signs off."""

from orders.models import Account

K = Account.Kind

BANK = "1000"
CLEARING = "1010"
RECEIVABLE = "1100"
MATERIALS = "1200"
WORK_IN_PROGRESS = "1210"
FINISHED_GOODS = "1220"
DEPOSITS = "2000"
CREDIT = "2010"
OWED = "2020"
TAX = "2100"
SALES = "4000"
FREIGHT = "4100"
FORFEITED = "4200"
DISCOUNTS = "4900"
REFUNDS = "4910"
COST_OF_SALES = "5000"
FEES = "5100"
ABSORBED = "5200"
CARRIAGE = "5300"
EXCHANGE = "5900"
ROUNDING = "5910"

CHART: dict[str, tuple[str, str]] = {
    BANK: ("Bank", K.ASSET),
    CLEARING: ("Card processor clearing", K.ASSET),
    RECEIVABLE: ("Accounts receivable", K.ASSET),
    MATERIALS: ("Materials inventory", K.ASSET),
    WORK_IN_PROGRESS: ("Work in progress", K.ASSET),
    FINISHED_GOODS: ("Finished goods", K.ASSET),
    DEPOSITS: ("Customer deposits (contract liability)", K.LIABILITY),
    CREDIT: ("Customer credit, not yet allocated", K.LIABILITY),
    OWED: ("Owed back to customers (refund liability)", K.LIABILITY),
    TAX: ("Sales tax / VAT payable", K.LIABILITY),
    SALES: ("Sales, propellers", K.INCOME),
    FREIGHT: ("Sales, freight and packing", K.INCOME),
    FORFEITED: ("Forfeited deposits", K.INCOME),
    DISCOUNTS: ("Discounts (contra sales)", K.INCOME),
    REFUNDS: ("Refunds (contra sales)", K.INCOME),
    COST_OF_SALES: ("Cost of sales", K.EXPENSE),
    FEES: ("Card processor fees", K.EXPENSE),
    ABSORBED: ("Labour and overhead absorbed", K.EXPENSE),
    CARRIAGE: ("Carriage outwards", K.EXPENSE),
    EXCHANGE: ("Exchange differences", K.EXPENSE),
    ROUNDING: ("Rounding differences", K.EXPENSE),
}


def account(code: str) -> Account:
    """The row of a code of the chart, made when first used; KeyError for a code that is not in it."""
    name, kind = CHART[code]
    row, _ = Account.objects.get_or_create(code=code, defaults={"name": name, "kind": kind})
    return row
