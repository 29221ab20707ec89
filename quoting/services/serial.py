"""Frozen values to and from plain JSON: specifications, prices, forecasts and findings that stand alone in a stored quote.

Decimals become text, money {"amount", "currency"}, dates ISO 8601; enumerations their values.
"""

import json
from datetime import date, datetime
from decimal import Decimal
from hashlib import sha256
from typing import Any, TypeVar

from cattrs import Converter

T = TypeVar("T")

_converter = Converter(forbid_extra_keys=False, unstruct_collection_overrides={frozenset: sorted})
_converter.register_unstructure_hook(Decimal, str)
_converter.register_structure_hook(Decimal, lambda text, _: Decimal(text))
_converter.register_unstructure_hook(datetime, lambda instant: instant.isoformat())
_converter.register_structure_hook(datetime, lambda text, _: datetime.fromisoformat(text))
_converter.register_unstructure_hook(date, lambda day: day.isoformat())
_converter.register_structure_hook(date, lambda text, _: date.fromisoformat(text))


def unstructured(value: Any) -> Any:
    """Plain lists, dictionaries, numbers and text; tuples become lists. Raises ValueError for NaN and infinities."""
    text = json.dumps(_converter.unstructure(value), allow_nan=False)
    return json.loads(text, parse_float=_without_negative_zero)


def structured(plain: Any, kind: type[T]) -> T:
    """The value again, equal to what was unstructured; raises cattrs' errors for data of another shape."""
    return _converter.structure(plain, kind)


def canonical(plain: Any) -> str:
    """One text for one content: keys sorted, no spaces."""
    return json.dumps(plain, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def digest(plain: Any) -> str:
    """SHA-256 of the canonical text, in hex."""
    return sha256(canonical(plain).encode()).hexdigest()


def _without_negative_zero(text: str) -> float:
    """PostgreSQL keeps no negative zero: what is stored must hash as what is read back."""
    return float(text) + 0.0
