"""A chart's axes: round ticks, ruled ground, key and marks, so placed that no words lie on a curve or on each other."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil, floor, isfinite, log10

from quoting.propeller.drawing.lettering import grouped
from quoting.propeller.drawing.svg import HAIR, HIDDEN, MEDIUM, Point, circle, line, path, text

WIDTH, LEFT, RIGHT, BASE = 420.0, 52.0, 372.0, 250.0
"""One form for a phone and a page: the letters stay readable at 340 px."""
LETTERS = 12.5
ROW = 17.0
"""Height of a line of words."""
WIDE_LETTER = 0.56
"""Width of a letter over its height, on the wide side."""
DOT = 'class="d-solid" fill="currentColor"'

BAND = 'class="d-fill" fill="currentColor" fill-opacity=".12" stroke="none"'
STROKES = (
    'class="d-line" fill="none" stroke="currentColor" stroke-width="1.8"',
    'class="d-line" fill="none" stroke="currentColor" stroke-width="1.5" stroke-dasharray="7 3"',
    'class="d-line" fill="none" stroke="currentColor" stroke-width="1.5" stroke-dasharray="2 2.5"',
    'class="d-line" fill="none" stroke="currentColor" stroke-width="1.2" stroke-dasharray="9 3 2 3"',
)
"""Lines told apart by their stroke and by words at their end, never by colour."""


def round_step(span: float, most: int) -> float:
    """The smallest of 1, 2, 2.5, 5 x 10^k that parts `span` into at most `most` steps.

    >>> round_step(97.0, 6)
    20.0
    """
    if not (isfinite(span) and span > 0):
        return 1.0
    power = 10.0 ** floor(log10(span / most))
    return next(k * power for k in (1, 2, 2.5, 5, 10, 20) if span / (k * power) <= most)


@dataclass(frozen=True, slots=True)
class Axis:
    """One direction of a chart: values from `low` to `high` in `unit`, laid from `start` to `end` on paper."""

    low: float
    high: float
    start: float
    end: float
    label: str

    def at(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low) if self.high > self.low else 0.5
        return self.start + share * (self.end - self.start)

    def ticks(self, most: int = 6) -> list[float]:
        step = round_step(self.high - self.low, most)
        first = ceil(self.low / step - 1e-9)
        return [k * step for k in range(first, floor(self.high / step + 1e-9) + 1)]

    def words(self, value: float) -> str:
        step = round_step(self.high - self.low, 6)
        digits = max(0, -floor(log10(step) + 1e-9)) if step < 1 else 0
        if step == 2.5:
            digits = 1
        return grouped(value, digits)


@dataclass(frozen=True, slots=True)
class Chart:
    """Two axes; y grows upward."""

    x: Axis
    y: Axis

    def at(self, x: float, y: float) -> Point:
        return self.x.at(x), self.y.at(y)

    def ground(self, *, letters: float = LETTERS, right: bool = False, rules: bool = True) -> list[str]:
        """Ticks, rules and labels; `right` letters the y axis on its right side."""
        x, y = self.x, self.y
        parts = []
        edge, side = (x.end, 6.0) if right else (x.start, -6.0)
        anchor = "start" if right else "end"
        for value in y.ticks():
            level = y.at(value)
            if rules:
                parts.append(line((x.start, level), (x.end, level), HAIR))
            parts.append(
                text((edge + side, level + 4), y.words(value), size=letters, anchor=anchor, soft=True)
            )
        head = (x.end + 46, y.end - 11) if right else (max(x.start - 50, 2), y.end - 11)
        parts.append(text(head, y.label, size=letters, anchor="end" if right else "start", soft=True))
        if right:
            return [*parts, line((x.end, y.start), (x.end, y.end), MEDIUM)]
        for value in x.ticks(7):
            place = x.at(value)
            parts.append(line((place, y.start), (place, y.start + 4), MEDIUM))
            parts.append(
                text((place, y.start + 17), x.words(value), size=letters, anchor="middle", soft=True)
            )
        parts.append(text((x.end, y.start + 32), x.label, size=letters, anchor="end", soft=True))
        parts.append(line((x.start, y.start), (x.end, y.start), MEDIUM))
        parts.append(line((x.start, y.start), (x.start, y.end), MEDIUM))
        return parts

    def curve(self, xs: Iterable[float], ys: Iterable[float], stroke: str) -> str:
        """A line through the points that are numbers and lie on the chart."""
        points = [self.at(a, b) for a, b in zip(xs, ys, strict=True) if self.holds(a, b)]
        return path(points, stroke) if len(points) > 1 else ""

    def holds(self, x: float, y: float) -> bool:
        slack = 1e-9
        return (
            isfinite(x)
            and isfinite(y)
            and self.x.low - slack <= x <= self.x.high + slack
            and self.y.low - slack <= y <= self.y.high + slack
        )

    def band(self, xs: Iterable[float], low: Iterable[float], high: Iterable[float]) -> str:
        """The ground between two lines, cut at the chart's edges."""
        rows = [(a, b, c) for a, b, c in zip(xs, low, high, strict=True) if isfinite(b) and isfinite(c)]

        def cut(value: float) -> float:
            return min(max(value, self.y.low), self.y.high)

        forth = [self.at(a, cut(c)) for a, _, c in rows]
        back = [self.at(a, cut(b)) for a, b, _ in reversed(rows)]
        return path(forth + back, BAND, closed=True) if len(rows) > 1 else ""


@dataclass(frozen=True, slots=True)
class Mark:
    """A point of a chart that is read off: where it lies, and in words what it says."""

    x: float
    y: float
    words: str


def marked(chart: Chart, marks: Sequence[Mark], *, top: float) -> tuple[list[str], float]:
    """Dots, each with a line up to its words above the chart; the words take rows so that none covers another.

    `top` is the baseline of the lowest row. Also returns the height the rows take.
    """
    parts: list[str] = []
    ends: list[float] = []
    for mark in sorted(marks, key=lambda m: m.x):
        at = chart.at(mark.x, mark.y)
        half = 0.5 * WIDE_LETTER * LETTERS * len(mark.words)
        middle = min(max(at[0], half + 40), WIDTH - half)
        row = next((k for k, end in enumerate(ends) if end + 8 < middle - half), len(ends))
        ends[row : row + 1] = [middle + half]
        level = top - ROW * row
        parts += [
            line(at, (at[0], level + 3), HIDDEN),
            circle(at, 4, DOT),
            text((middle, level), mark.words, size=LETTERS, anchor="middle", strong=True),
        ]
    return parts, ROW * len(ends)


def key(entries: Sequence[tuple[str, str]], top: float) -> tuple[list[str], float]:
    """What each stroke or sign means, one line each under the chart; an entry is its sign about (0, 0) and its words.

    Also returns the level under the last line.
    """
    parts: list[str] = []
    for k, (sign, words) in enumerate(entries):
        level = top + ROW * k
        parts.append(f'<g transform="translate({LEFT + 17:g} {level - 4:g})">{sign}</g>')
        parts.append(text((LEFT + 42, level), words, size=LETTERS))
    return parts, top + ROW * len(entries)


def stroke_sign(stroke: str) -> str:
    """A piece of a curve's stroke for the key."""
    return line((-16, 0), (16, 0), stroke)
