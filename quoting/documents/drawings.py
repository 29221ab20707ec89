"""Drawings as PDF: the dimensioned sheet, and the true-size templates that are measured from."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, time
from typing import Protocol

from quoting.documents.render import DocumentError, compile_template


class SheetPicture(Protocol):
    """One sheet of paper as SVG and in words."""

    @property
    def svg(self) -> str: ...
    @property
    def words(self) -> str: ...


def sheets_pdf(
    sheets: Sequence[SheetPicture], *, paper: str, title: str, author: str, day: date, flipped: bool = False
) -> bytes:
    """One page per sheet at exactly 100 %, tagged; the same bytes for the same sheets.

    `paper` is a4, a3, us-letter or us-tabloid; `flipped` turns it on its side. Raises DocumentError without a
    sheet: an empty drawing would be taken for a finished one.
    """
    if not sheets:
        raise DocumentError("sheets: none given, at least one is needed")
    data = {
        "paper": paper,
        "flipped": flipped,
        "title": title,
        "author": author,
        "date": day.isoformat(),
        "sheets": [{"svg": sheet.svg, "words": sheet.words} for sheet in sheets],
    }
    return compile_template("true-size", data, datetime.combine(day, time(12), tzinfo=UTC))
