"""What is measured at each stage and within which limits: from the order's own figures, in bench units (mm, g·mm, °C).

Limits marked "common practice" raise a caution only; those from the specification or a published figure stop the stage.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from quoting.propeller.finding import Finding, Severity

LONGEST_WORD = 60
TRACK_WARN_MM = 1.5875
TRACK_REJECT_MM = 3.175


@dataclass(frozen=True, slots=True)
class BuildFigures:
    """The figures of the accepted quote the bench works to. Lengths in mm; None where the quote has none.

    0 `bolts` are a blank boss, on which nothing is drilled.
    """

    diameter: float
    boss_thickness: float | None
    bore: float | None
    bolt_circle: float | None
    hole: float | None
    bolts: int | None
    coats: int
    lowest_glue_temperature: float | None
    unbalance_limit: float | None
    serial: str
    display_only: bool = False


@dataclass(frozen=True, slots=True)
class Measurement:
    """One figure to be written down. `low` and `high` bound it; `word` is the text it must equal; `sane` bounds typing.

    `stops` says whether a value outside the limits keeps the stage open or is only a caution.
    """

    key: str
    label: str
    unit: str = ""
    low: float | None = None
    high: float | None = None
    word: str = ""
    is_text: bool = False
    sane: tuple[float, float] = (0.0, 10_000.0)
    stops: bool = True
    source: str = "the accepted quote"


def about(key: str, label: str, value: float | None, tolerance: float, **more: Any) -> Measurement:
    """A length in mm that should be `value` within `tolerance`; without a value it is only written down."""
    if value is None:
        return Measurement(key, label, "mm", **more)
    return Measurement(key, label, "mm", round(value - tolerance, 3), round(value + tolerance, 3), **more)


def measurements(figures: BuildFigures) -> dict[str, tuple[Measurement, ...]]:
    """Required measurements by stage key; stages without an entry need none."""
    practice = "common practice, no source"
    unbalance = Measurement(
        "unbalance", "Residual unbalance", "g·mm", 0.0, figures.unbalance_limit,
        sane=(0.0, 1_000_000.0), source="ISO 21940-11, the shop's grade",
    )  # fmt: skip
    return {
        "condition": (
            Measurement("lot", "Timber lot", is_text=True),
            Measurement("moisture", "Moisture", "%", 6.0, 15.0, sane=(0.0, 60.0), source=practice),
        ),
        "laminate": (
            Measurement(
                "temperature", "Room temperature", "°C", figures.lowest_glue_temperature, 35.0,
                sane=(-20.0, 60.0), source="the glue's data in the catalogue",
            ),
            Measurement("clamp_hours", "Hours in clamps", "h", sane=(0.0, 500.0), source=practice),
        ),
        "bore": (about("bore", "Centre bore", figures.bore, 0.15),),
        "shape-boss": (about("boss_thickness", "Boss thickness", figures.boss_thickness, 1.0),),
        "trim-tips": (about("diameter", "Diameter", figures.diameter, 3.0),),
        "track": (
            Measurement(
                "track", "Track difference", "mm", 0.0, TRACK_REJECT_MM, sane=(0.0, 200.0),
                source="1/8 in, FAA training text on wooden propellers",
            ),
            Measurement("pitch_difference", "Pitch angle difference", "°", 0.0, 0.5, sane=(0.0, 45.0), stops=False,
                        source=practice),
        ),
        "balance": (unbalance,),
        "drill": () if figures.bolts == 0 else (
            about("bolt_circle", "Bolt circle", figures.bolt_circle, 0.3),
            about("hole", "Bolt hole", figures.hole, 0.2),
        ),
        "stamp": (
            Measurement("stamped", "Stamped serial number", is_text=True, word=figures.serial),
            *((Measurement("warning", "Stamped warning", is_text=True, word="NOT FOR FLIGHT"),)
              if figures.display_only else ()),
        ),
        "varnish": (Measurement("coats", "Coats", "", float(figures.coats), 20.0, sane=(0.0, 40.0)),),
        "final-balance": (unbalance,),
        "inspect": (
            Measurement("mass", "Mass", "kg", sane=(0.05, 200.0)),
            about("diameter", "Diameter", figures.diameter, 3.0),
        ),
    }  # fmt: skip


NAMED = {
    m.key: m
    for wanted in measurements(
        BuildFigures(0.0, None, None, None, None, None, 0, None, None, "", display_only=True)
    ).values()
    for m in wanted
}
"""Every measurement by its key, for its label and unit; nothing here has an order's own limits."""


def judge(
    required: tuple[Measurement, ...], given: Mapping[str, Any]
) -> tuple[dict[str, Any], tuple[Finding, ...]]:
    """The measurements as stored, and what is wrong with them: one finding a measurement, at its key.

    A missing or unreadable value has code "measurement-missing" or "measurement-unreadable"; those must be mended
    before anything is stored. A value outside its limits has code "out-of-limits" and may be recorded.
    """
    stored: dict[str, Any] = {}
    findings = []
    for unknown in sorted(set(given) - {m.key for m in required}):
        findings.append(
            _finding(
                Measurement(unknown[:40], unknown[:40]), "measurement-unreadable", "is not asked for here."
            )
        )
    for m in required:
        raw = given.get(m.key)
        if raw is None or str(raw).strip() == "":
            findings.append(_finding(m, "measurement-missing", "is missing; write it down."))
        elif m.is_text:
            word = str(raw).strip()
            stored[m.key] = word
            if len(word) > LONGEST_WORD:
                findings.append(
                    _finding(m, "measurement-unreadable", f"takes at most {LONGEST_WORD} characters.")
                )
            elif m.word and word != m.word:
                findings.append(_finding(m, "out-of-limits", f"must read {m.word}, not {word}."))
        else:
            value = plain_number(raw)
            if value is None or not m.sane[0] <= value <= m.sane[1]:
                between = f"a number from {m.sane[0]:g} to {m.sane[1]:g} {m.unit}".strip()
                findings.append(_finding(m, "measurement-unreadable", f"must be {between}."))
                continue
            stored[m.key] = value
            findings += _outside(m, value)
    return stored, tuple(findings)


def plain_number(raw: Any) -> float | None:
    """A number typed in plain digits with an optional sign and point (or comma); None for anything else."""
    if isinstance(raw, bool):
        return None
    if isinstance(raw, int | float):
        value = float(raw)
        return value if abs(value) < 1e9 else None
    text = str(raw).strip().replace(",", ".", 1)
    body = text[1:] if text[:1] in "+-" else text
    digits = body.replace(".", "", 1)
    if not digits or len(digits) > 12 or not digits.isascii() or not digits.isdigit():
        return None
    return float(text)


def _outside(m: Measurement, value: float) -> list[Finding]:
    if m.low is not None and value < m.low:
        return [_finding(m, "out-of-limits", _off(m, value, m.low, "under the least"), value, m.low)]
    if m.high is not None and value > m.high:
        return [_finding(m, "out-of-limits", _off(m, value, m.high, "over the most"), value, m.high)]
    if m.key == "track" and value > TRACK_WARN_MM:
        words = f"measured {value:g} mm is above 1/16 in ({TRACK_WARN_MM:.2f} mm); look again."
        caution = _finding(m, "track-worth-a-look", words, value, TRACK_WARN_MM)
        return [Finding(**{**_fields(caution), "severity": Severity.CAUTION})]
    return []


def _off(m: Measurement, value: float, limit: float, side: str) -> str:
    """How far a value is outside its limit, and on which side."""
    measured, off, bound = (
        f"{figure:g} {m.unit}".strip() for figure in (value, round(abs(value - limit), 3), limit)
    )
    return f"measured {measured}, {off} {side} allowed ({bound})."


def _fields(finding: Finding) -> dict[str, Any]:
    return {name: getattr(finding, name) for name in Finding.__slots__}


def _finding(
    m: Measurement, code: str, words: str, value: float | None = None, limit: float | None = None
) -> Finding:
    severity = Severity.STOP if m.stops or code != "out-of-limits" else Severity.CAUTION
    return Finding(code, severity, m.key, value, limit, m.unit, f"{m.label} {words}", m.source)


def limits_words(m: Measurement) -> str:
    """What is wanted, in words; empty where the value is only written down."""
    if m.word:
        return m.word
    if m.low is not None and m.high is not None and m.low > 0:
        return f"{m.low:g} to {m.high:g}"
    if m.high is not None:
        return f"at most {m.high:g}"
    return f"at least {m.low:g}" if m.low is not None else ""
