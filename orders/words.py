"""Money and days as they stand in a sentence, on pages and in mails alike."""

from datetime import date, datetime
from decimal import Decimal

from django.utils import formats, timezone

from quoting.pricing.money import Money

SPACE = "\N{NO-BREAK SPACE}"


def grouped(value: Decimal | float, digits: int) -> str:
    """A number in groups of three with the language's decimal sign."""
    text = f"{value:,.{digits}f}".replace(",", SPACE).replace(
        ".", str(formats.get_format("DECIMAL_SEPARATOR"))
    )
    return text.replace("-", "\N{MINUS SIGN}")


def amount_words(money: Money) -> str:
    """An amount without its currency, with as many decimals as the currency has: 1 284.84."""
    return grouped(money.amount, -int(money.amount.as_tuple().exponent))


def money_words(money: Money) -> str:
    """An amount with its currency: 1 284.84 EUR."""
    return f"{amount_words(money)}{SPACE}{money.currency}"


def day_words(value: date | datetime) -> str:
    """A day in words: 28 March 2027; an instant's day is that of the workshop's clock."""
    if isinstance(value, datetime) and timezone.is_aware(value):
        value = timezone.localtime(value)
    return formats.date_format(value, "j F Y" if formats.get_format("DECIMAL_SEPARATOR") == "." else "j. F Y")
