"""Money: a Decimal amount and its ISO 4217 currency, the one rounding rule, and splits that sum exactly."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

EXPONENTS: dict[str, int] = {
    **dict.fromkeys("EUR USD GBP CAD AUD CHF SEK NOK DKK PLN CZK NZD HUF RON BGN ZAR MXN SGD HKD".split(), 2),
    **dict.fromkeys("JPY KRW CLP VND ISK PYG UGX XAF XOF XPF".split(), 0),
    **dict.fromkeys("KWD BHD OMR JOD TND".split(), 3),
}
"""Minor-unit digits by currency; from memory of ISO 4217."""

_UNITS = {code: Decimal(1).scaleb(-digits) for code, digits in EXPONENTS.items()}


def round_half_up(value: Decimal, digits: int) -> Decimal:
    """Round to `digits` places, halves away from zero: the one rounding rule of the house.

    >>> round_half_up(Decimal("2.675"), 2)
    Decimal('2.68')
    """
    return value.quantize(Decimal(1).scaleb(-digits), rounding=ROUND_HALF_UP)


@dataclass(frozen=True, slots=True, order=False)
class Money:
    """An exact amount of one currency, always with the currency's own number of decimals.

    Raises TypeError for a float, ValueError for an unknown currency, a non-finite amount or more decimals than the
    currency has (use `Money.rounded` to round on purpose).
    """

    amount: Decimal
    currency: str

    def __post_init__(self) -> None:
        if not isinstance(self.amount, Decimal):
            raise TypeError(f"Money wants a Decimal, not {type(self.amount).__name__}")
        if self.currency not in EXPONENTS:
            raise ValueError(f"unknown currency {self.currency!r}")
        if not self.amount.is_finite():
            raise ValueError("an amount of money must be finite")
        exact = self.amount.quantize(_UNITS[self.currency])
        if exact != self.amount:
            raise ValueError(f"{self.amount} has more decimals than {self.currency} knows")
        object.__setattr__(self, "amount", exact)

    @classmethod
    def rounded(cls, value: Decimal, currency: str) -> "Money":
        return cls(round_half_up(value, EXPONENTS[currency]), currency)

    @classmethod
    def from_minor(cls, minor: int, currency: str) -> "Money":
        """From integer minor units, as the tables hold them."""
        return cls(Decimal(minor).scaleb(-EXPONENTS[currency]), currency)

    @classmethod
    def zero(cls, currency: str) -> "Money":
        return cls(Decimal(0), currency)

    @property
    def minor(self) -> int:
        return int(self.amount.scaleb(EXPONENTS[self.currency]))

    def _same(self, other: "Money") -> None:
        if other.currency != self.currency:
            raise ValueError(f"cannot mix {self.currency} and {other.currency}")

    def __add__(self, other: "Money") -> "Money":
        self._same(other)
        return Money(self.amount + other.amount, self.currency)

    def __sub__(self, other: "Money") -> "Money":
        self._same(other)
        return Money(self.amount - other.amount, self.currency)

    def __neg__(self) -> "Money":
        return Money(-self.amount, self.currency)

    def __lt__(self, other: "Money") -> bool:
        self._same(other)
        return self.amount < other.amount

    def __le__(self, other: "Money") -> bool:
        self._same(other)
        return self.amount <= other.amount

    def __bool__(self) -> bool:
        return bool(self.amount)

    def times(self, factor: Decimal) -> "Money":
        """Multiply and round half up to the currency's decimals."""
        return Money.rounded(self.amount * factor, self.currency)

    def split(self, weights: Sequence[int | Decimal | Fraction]) -> tuple["Money", ...]:
        """Split by weights so that the parts sum exactly: largest remainder, ties to the earlier part.

        Raises ValueError when no weight is positive or one is negative.

        >>> [str(m.amount) for m in Money(Decimal("0.10"), "EUR").split([1, 1, 1])]
        ['0.04', '0.03', '0.03']
        """
        shares = [Fraction(w) for w in weights]
        whole = sum(shares, Fraction(0))
        if whole <= 0 or any(s < 0 for s in shares):
            raise ValueError("weights must not be negative and must sum to more than nothing")
        sign = -1 if self.amount < 0 else 1
        exact = [abs(self.minor) * s / whole for s in shares]
        parts = [int(e) for e in exact]
        left = abs(self.minor) - sum(parts)
        by_remainder = sorted(range(len(exact)), key=lambda i: (parts[i] - exact[i], i))
        for i in by_remainder[:left]:
            parts[i] += 1
        return tuple(Money.from_minor(sign * p, self.currency) for p in parts)

    def __str__(self) -> str:
        return f"{self.amount} {self.currency}"


def total(amounts: Iterable[Money], currency: str) -> Money:
    """Sum of the amounts; nothing sums to zero of the currency. Raises ValueError at another currency."""
    result = Decimal(0)
    for amount in amounts:
        if amount.currency != currency:
            raise ValueError(f"cannot mix {currency} and {amount.currency}")
        result += amount.amount
    return Money(result, currency)
