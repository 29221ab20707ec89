"""Columns of numbers out of CSV text, with every complaint at its line and column."""

import csv
import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MOST_ROWS = 100_000


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """Numbers by column name, all of shape (n,), and the line of the text each row stands on."""

    values: dict[str, Array]
    lines: tuple[int, ...]

    def at_line(self, message: str) -> str:
        """A complaint about a row or point, with the number of its line in the text."""

        def line(found: re.Match[str]) -> str:
            row = int(found[2])
            return f"line {self.lines[row - 1]}" if row <= len(self.lines) else found[0]

        return re.sub(r"\b(row|point) (\d+)\b", line, message)


def columns(text: str, required: tuple[str, ...], optional: tuple[str, ...] = ()) -> Columns:
    """The named columns of `text`: a header line, then numbers; lines that begin with # are passed over.

    Raises ValueError naming the line and the column.
    """
    kept = [
        (number, line)
        for number, line in enumerate(text.splitlines(), start=1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if len(kept) < 2:
        raise ValueError("a header line and at least one row of numbers are needed")
    if len(kept) > MOST_ROWS:
        raise ValueError(f"{len(kept) - 1} rows given, accepted are {MOST_ROWS - 1}")
    table = [next(csv.reader([line])) for _, line in kept]
    head = [name.strip() for name in table[0]]
    lines = tuple(number for number, _ in kept[1:])
    _require_clear(head, kept[0][0])
    _require_width(table[1:], head, lines)
    missing = [name for name in required if name not in head]
    if missing:
        raise ValueError(f"line {kept[0][0]}: column {missing[0]} is missing; there are {', '.join(head)}")
    wanted = [name for name in (*required, *optional) if name in head]
    values = {
        name: np.array(
            [
                _number(cells, head.index(name), name, line)
                for cells, line in zip(table[1:], lines, strict=True)
            ]
        )
        for name in wanted
    }
    return Columns(values, lines)


def _require_clear(head: list[str], line: int) -> None:
    for place, name in enumerate(head):
        if name and name in head[:place]:
            raise ValueError(f"line {line}: column {name} is there twice")


def _require_width(rows: list[list[str]], head: list[str], lines: tuple[int, ...]) -> None:
    """No row has more cells than the header: a decimal comma would shift every value after it."""
    for cells, line in zip(rows, lines, strict=True):
        if len(cells) > len(head) and any(cell.strip() for cell in cells[len(head) :]):
            raise ValueError(
                f"line {line}: {len(cells)} values for {len(head)} columns; numbers take a point, not a comma"
            )


def _number(cells: list[str], place: int, name: str, line: int) -> float:
    cell = cells[place].strip() if place < len(cells) else ""
    try:
        value = float(cell)
    except ValueError:
        raise ValueError(f"line {line}, column {name}: {cell[:40]!r} is not a number") from None
    if not np.isfinite(value):
        raise ValueError(f"line {line}, column {name}: {cell[:40]!r} is not a finite number")
    return value
