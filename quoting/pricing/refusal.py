"""Refusing a bad figure at the field it was typed in, and reading decimals in plain digits only."""

import re
from decimal import Decimal

from quoting.propeller.finding import Finding, Severity

_PLAIN = re.compile(r"-?[0-9]{1,15}(\.[0-9]{1,9})?")


class Refused(ValueError):
    """Input that cannot be priced; `finding` names the field and says what would be accepted."""

    def __init__(self, finding: Finding) -> None:
        super().__init__(f"{finding.field}: {finding.message}")
        self.finding = finding


def stop(
    code: str,
    field: str,
    message: str,
    *,
    figure: Decimal | None = None,
    limit: Decimal | None = None,
    unit: str = "",
) -> Finding:
    """A stop about the input itself; figures are shown as floats, the message carries the exact text."""
    return Finding(
        code,
        Severity.STOP,
        field,
        None if figure is None or not figure.is_finite() else float(figure),
        None if limit is None else float(limit),
        unit,
        message,
        "the rules of the price book",
    )


def refuse(code: str, field: str, message: str) -> Refused:
    """The exception to raise, naming the field."""
    return Refused(stop(code, field, message))


def read_decimal(value: object, field: str) -> Decimal:
    """A Decimal from a Decimal, an int or text in plain digits such as 12.50; raises `Refused` for all else.

    Floats, exponents, thousands marks, other scripts' digits, NaN and infinities are refused.

    >>> read_decimal("12.50", "rate")
    Decimal('12.50')
    """
    if isinstance(value, bool) or not isinstance(value, (Decimal, int, str)):
        raise refuse("not-a-number", field, f"A plain number such as 12.50 is wanted, not {value!r}.")
    if isinstance(value, str) and not _PLAIN.fullmatch(value.strip()):
        raise refuse("not-a-number", field, f"A plain number such as 12.50 is wanted, not {value[:40]!r}.")
    number = Decimal(value.strip()) if isinstance(value, str) else Decimal(value)
    if not number.is_finite():
        raise refuse("not-a-number", field, f"A plain number such as 12.50 is wanted, not {number}.")
    return number


def within(value: Decimal, low: Decimal, high: Decimal, field: str, unit: str = "") -> Decimal:
    """The value itself when it lies in low..high (ends included); raises `Refused` naming field and bounds."""
    if not value.is_finite() or not low <= value <= high:
        shown = f" {unit}" if unit else ""
        raise Refused(
            stop(
                "out-of-bounds",
                field,
                f"{value} is outside {low} to {high}{shown}.",
                figure=value,
                limit=high if value.is_finite() and value > high else low,
                unit=unit,
            )
        )
    return value
