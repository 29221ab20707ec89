"""Reading typed fields strictly: ASCII digits, known units, bounds in the unit typed, one finding at each field to mend."""

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, TypeVar

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from quoting.propeller.finding import Finding, Severity
from quoting.services.units import UNITS
from quoting.services.written import figure_of

Kind = TypeVar("Kind", bound=StrEnum)

MISSING = "missing"
"""Code of what is left open that an answer needs; the workshop can ask for it."""
SOURCE = "what the form accepts"
_UNPRINTABLE = frozenset(("Cc", "Cf", "Cs", "Co", "Cn", "So", "Zl", "Zp"))

UNIT_WORDS = {
    "in": gettext_lazy("inches"),
    "mm": gettext_lazy("millimetres"),
    "m": gettext_lazy("metres"),
    "ft": gettext_lazy("feet"),
    "%": gettext_lazy("per cent"),
    "degC": gettext_lazy("degrees Celsius"),
}
"""Units in words, where a sentence reads better with them."""
_EXAMPLES = {
    ("length", "in"): ("4-3/8", "111 mm"),
    ("length", "mm"): ("111", "4-3/8 in"),
    ("length", "m"): ("600", "2 000 ft"),
    ("length", "ft"): ("2 000", "600 m"),
    ("power", ""): ("65", "48 kW"),
    ("speed", ""): ("95", "83 kt"),
    ("rotation", ""): ("2 300", "2 300 rpm"),
    ("fraction", ""): ("75", "75 %"),
    ("temperature", ""): ("20", "20 °C"),
}
"""By quantity and unit: a bare number that would do, and one with a unit after it."""


def unit_words(unit: str) -> str:
    return str(UNIT_WORDS.get(unit, unit))


def code_of(member: StrEnum) -> str:
    """The short code of an enumeration's member in forms and links, such as "type-certificated"."""
    return member.name.lower().replace("_", "-")


@dataclass
class Reading:
    """Reads one submission field by field; `findings` grows by one for each field that needs mending.

    Every method returns the value, or None for an empty or refused field.
    """

    typed: Mapping[str, Any]
    findings: list[Finding] = field(default_factory=list)

    def has(self, name: str) -> bool:
        return bool(self.raw(name))

    def raw(self, name: str) -> str:
        """What was typed, without surrounding space; a list gives its last entry, a truth value "on" or "off"."""
        value = self.typed.get(name)
        if isinstance(value, (list, tuple)):
            value = value[-1] if value else ""
        if isinstance(value, bool):
            return "on" if value else "off"
        return "" if value is None else str(value).strip()

    def mend(
        self,
        name: str,
        code: str,
        message: str,
        *,
        figure: float | None = None,
        limit: float | None = None,
        unit: str = "",
    ) -> None:
        """Note that the field needs mending; the message says what would be accepted."""
        self.findings.append(Finding(code, Severity.STOP, name, figure, limit, unit, message, SOURCE))

    def tell(self, name: str, code: str, severity: Severity, message: str) -> None:
        """Note something that does not keep the specification from being made."""
        self.findings.append(Finding(code, severity, name, None, None, "", message, SOURCE))

    def lack(self, name: str, message: str) -> None:
        """Note what is left open that an answer needs."""
        self.mend(name, MISSING, message)

    def amount(
        self,
        name: str,
        quantity: str,
        unit: str,
        low: float,
        high: float,
        *,
        example: str = "",
        also: tuple[str, ...] = (),
        none_at_zero: bool = False,
    ) -> float | None:
        """A figure in SI, typed in `unit` or with its own unit after it; `low` and `high` are SI bounds.

        `also` are words that may follow the number, `none_at_zero` takes a 0 for "there is none".
        """
        text = self.raw(name)
        if not text:
            return None
        found = figure_of(text, quantity, unit, also)
        if found is None:
            self._no_number(name, quantity, unit, example)
            return None
        number, written = found
        if none_at_zero and number == 0:
            return None
        factor = UNITS[quantity][written]
        value = float(f"{float(number) * factor:.12g}")
        if not low <= value <= high:
            shown = "" if written == "1" else f" {unit_words(written)}"
            self.mend(
                name,
                "out-of-range",
                _("Give a figure from %(low)s to %(high)s%(unit)s.")
                % {"low": f"{low / factor:.4g}", "high": f"{high / factor:.4g}", "unit": shown},
                figure=float(number),
                limit=(high if value > high else low) / factor,
                unit="" if written == "1" else written,
            )
            return None
        return value

    def whole(self, name: str, low: int, high: int) -> int | None:
        """A whole number between bounds."""
        text = self.raw(name)
        if not text:
            return None
        if len(text) > 6 or not re.fullmatch("[0-9]{1,6}", text) or not low <= int(text) <= high:
            self.mend(
                name,
                "not-a-whole-number",
                _("Give a whole number from %(low)d to %(high)d in plain digits.")
                % {"low": low, "high": high},
            )
            return None
        return int(text)

    def choice(self, name: str, kind: type[Kind]) -> Kind | None:
        """A member of an enumeration by its code."""
        text = self.raw(name)
        if not text:
            return None
        found = next((m for m in kind if code_of(m) == text), None)
        if found is None:
            self._not_listed(name, (code_of(m) for m in kind))
        return found

    def row(self, name: str, rows: Mapping[str, Any]) -> Any | None:
        """A row of the catalogue by its code."""
        text = self.raw(name)
        if not text:
            return None
        if text not in rows:
            self._not_listed(name, ())
            return None
        return rows[text]

    def word(self, name: str, allowed: Mapping[str, Any] | tuple[str, ...], default: str) -> str:
        """One of a few words, such as a unit."""
        text = self.raw(name)
        if not text:
            return default
        if text not in allowed:
            self._not_listed(name, allowed)
            return default
        return text

    def flag(self, name: str, default: bool = False) -> bool:
        """A box ticked ("on") or not ("", or "off" when said)."""
        text = self.raw(name)
        if text not in ("", "on", "off"):
            self._not_listed(name, ("on", "off"))
        return default if not text else text == "on"

    def text(self, name: str, longest: int) -> str:
        """Printable text of one line: letters of any script, digits and punctuation."""
        text = self.raw(name)
        if len(text) > longest:
            self.mend(name, "too-long", _("Write at most %(longest)d characters.") % {"longest": longest})
            return ""
        if any(unicodedata.category(letter) in _UNPRINTABLE for letter in text):
            self.mend(
                name, "unprintable", _("Write letters, digits and punctuation, on one line, no pictures.")
            )
            return ""
        return unicodedata.normalize("NFC", text)

    def _no_number(self, name: str, quantity: str, unit: str, example: str) -> None:
        bare, with_unit = _EXAMPLES.get((quantity, unit)) or _EXAMPLES.get((quantity, "")) or ("12.5", "")
        words = {"unit": unit_words(unit), "example": example or bare, "other": with_unit}
        if with_unit:
            message = _(
                "Give a number in %(unit)s, such as %(example)s, or one with its unit, such as %(other)s."
            )
        else:
            message = _("Give a number in plain digits, such as %(example)s.")
        self.mend(name, "not-a-number", message % words, unit="" if unit == "1" else unit)

    def _not_listed(self, name: str, allowed: Iterable[str]) -> None:
        words = ", ".join(allowed)
        message = (
            _("Choose one of: %(words)s.") % {"words": words} if words else _("Choose one from the list.")
        )
        self.mend(name, "not-listed", message)
