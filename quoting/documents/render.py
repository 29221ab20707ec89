"""Papers as PDF: a template in a file, the data beside it as JSON, and the same bytes for the same data.

Data never becomes template source, so whatever a customer typed prints as typed. Fonts come from packages; the
document is tagged and checked against PDF/UA-1 while it is written.
"""

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal

import font_source_sans_pro
import font_source_serif_pro
import segno
import typst

from quoting.documents.kinds import KINDS, missing_keys

TEMPLATES = Path(str(files("quoting.documents"))) / "templates"
FONTS = [font_source_serif_pro.font_directory, font_source_sans_pro.font_directory]
Standard = Literal["ua-1", "a-2b", "a-3a", "a-3b"]


class DocumentError(ValueError):
    """The data does not make this paper; the message names what is missing."""


@cache
def _compiler() -> typst.Compiler:
    """One compiler for the process: it keeps the fonts loaded."""
    return typst.Compiler(root=str(TEMPLATES), font_paths=FONTS, ignore_system_fonts=True)


def square_code(url: str) -> str:
    """The address as a QR code (ISO/IEC 18004, error correction M) in SVG."""
    drawn: str = segno.make(url, error="m", micro=False).svg_inline(border=0)
    return drawn.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"', 1)


def _with_codes(data: Mapping[str, Any]) -> dict[str, Any]:
    """The data with a square code drawn for each address a paper carries."""
    full = dict(data)
    if "accept" in full:
        full["accept"] = {**full["accept"], "code": square_code(full["accept"]["url"])}
    for key in ("pay_url", "register_url"):
        if full.get(key):
            full["code"] = square_code(full[key])
    return full


def _day(text: str) -> datetime:
    try:
        return datetime.fromisoformat(text).replace(hour=12, tzinfo=UTC)
    except (TypeError, ValueError):
        raise DocumentError(f"date: {text!r} given, accepted is a day such as 2026-11-25") from None


def render(kind: str, data: Mapping[str, Any], *, standard: Standard = "ua-1") -> bytes:
    """The paper as PDF bytes.

    `kind` is a key of `kinds.KINDS`, whose class lists the keys of `data`. `standard` may ask for another PDF
    standard typst writes (a-3b for an invoice with an attachment). Raises DocumentError naming every missing key.
    """
    if kind not in KINDS:
        raise DocumentError(f"no such paper: {kind!r}; there are {', '.join(sorted(KINDS))}")
    missing = missing_keys(KINDS[kind], dict(data))
    if missing:
        raise DocumentError(f"{kind}: missing {', '.join(missing)}")
    return compile_template(kind, _with_codes(data), _day(data["date"]), standard=standard)


def compile_template(
    template: str, data: Mapping[str, Any], day: datetime, *, standard: Standard = "ua-1"
) -> bytes:
    """The template `template`.typ with `data`, dated `day` (UTC). Raises typst.TypstError on a template's fault."""
    result = _compiler().compile(
        input=str(TEMPLATES / f"{template}.typ"),
        format="pdf",
        sys_inputs={"data": json.dumps(data, sort_keys=True)},
        pdf_standards=standard,
        timestamp=int(day.timestamp()),
    )
    if not isinstance(result, bytes):
        raise DocumentError(f"{template}: the template makes no single document")
    return result
