"""The lettered parts of a sheet: title block, table, notes."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from quoting.propeller.drawing.svg import HAIR, MEDIUM, OUTLINE, Point, line, rectangle, text
from quoting.propeller.specification import Specification, Use

NOT_FOR_FLIGHT = "NOT FOR FLIGHT"


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """Who drew what, in which state: `number` of quote or drawing, `state` such as estimate, sent, approved."""

    shop: str
    number: str
    revision: str
    state: str
    as_of: date


def title_block(
    cells: Sequence[tuple[str, str, float]], x: float, y: float, width: float, height: float
) -> list[str]:
    """Cells (label, value, share of the width) side by side in one ruled box."""
    whole = sum(share for _, _, share in cells)
    parts = [rectangle(x, y, width, height, OUTLINE)]
    at = x
    for k, (label, value, share) in enumerate(cells):
        if k:
            parts.append(line((at, y), (at, y + height), MEDIUM))
        parts += [
            text((at + 8, y + 16), label.upper(), size=8, soft=True),
            text((at + 8, y + height - 12), value, size=12.5, strong=k == 0 or value == NOT_FOR_FLIGHT),
        ]
        at += width * share / whole
    return parts


def use_cell(specification: Specification) -> tuple[tuple[str, str, float], ...]:
    """The cell of a title block that keeps a display piece off an engine; none for what flies."""
    return (("use", NOT_FOR_FLIGHT, 1.3),) if specification.use is Use.DISPLAY else ()


def table(
    head: Sequence[str],
    rows: Sequence[Sequence[str]],
    at: Point,
    width: float,
    *,
    row_height: float = 15.5,
    names: bool = False,
) -> list[str]:
    """A ruled table with right-aligned columns of one width; `names` begins with a column of words, half as wide again."""
    x, y = at
    column = width / (len(head) + 0.5 * names)
    start = x + 0.5 * column * names

    def cell(k: int, base: float, words: str, size: float, *, soft: bool = False) -> str:
        if names and k == 0:
            return text((x, base), words, size=size, soft=soft)
        return text((start + (k + 1) * column - 4, base), words, size=size, anchor="end", soft=soft)

    parts = [line((x, y + 6), (x + width, y + 6), MEDIUM)]
    for k, words in enumerate(head):
        parts.append(cell(k, y, words, 9, soft=True))
    for i, row in enumerate(rows):
        base = y + (i + 1) * row_height + 3
        parts.append(line((x, base + 4), (x + width, base + 4), HAIR))
        for k, words in enumerate(row):
            parts.append(cell(k, base, words, 10.5))
    return parts


def notes(
    lines: Sequence[str], at: Point, *, size: float = 10.0, leading: float = 14.0, wide: int = 46
) -> list[str]:
    """Lines of words one under another, each broken at `wide` letters."""
    x, y = at
    parts: list[str] = []
    for sentence in lines:
        for piece in broken(sentence, wide):
            parts.append(text((x, y), piece, size=size))
            y += leading
        y += 2
    return parts


def broken(sentence: str, wide: int) -> list[str]:
    """The sentence in lines of at most `wide` letters, never cut inside a word."""
    lines: list[str] = [""]
    for word in sentence.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) > wide:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines
