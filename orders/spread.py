"""How a set of price differences or margins lies, as a small picture: one bar for each bin over an axis with its ends."""

from decimal import Decimal

from quoting.pricing.reprice import Spread
from quoting.propeller.drawing.svg import HIDDEN, MEDIUM, OUTLINE, SOLID, line, picture, rectangle, text

WIDTH, MARGIN = 360.0, 12.0
TALL, ABOVE, BELOW = 64.0, 30.0, 22.0
"""Height of the highest bar, and room above a row of bars and beneath its axis."""


def percent(share: Decimal) -> str:
    """A share as a signed percentage with one decimal."""
    return f"{100 * share:+.1f} %"


def spread_svg(spread: Spread, title: str, name: str) -> str:
    """The bins of a spread as bars, each with its count, over an axis from the least to the most.

    `name` is the picture's own on its page.
    """
    height = ABOVE + TALL + BELOW
    return picture(
        _row(spread, "", ABOVE + TALL, solid=True),
        WIDTH,
        height,
        title=title,
        description=_words(spread),
        name=name,
    )


def pair_svg(before: Spread, after: Spread, words: tuple[str, str], title: str, name: str) -> str:
    """Two spreads in the same bins, one above the other: outlined as it was, filled as it would be."""
    first, second = ABOVE + TALL, 2 * (ABOVE + TALL) + BELOW
    parts = [
        *_row(before, words[0], first, solid=False),
        *_row(after, words[1], second, solid=True),
    ]
    said = f"{words[0]}: {_words(before)}. {words[1]}: {_words(after)}"
    return picture(parts, WIDTH, second + BELOW, title=title, description=said, name=name)


def _row(spread: Spread, words: str, base: float, *, solid: bool) -> list[str]:
    """Bars standing on `base`, the axis under them, nought where it lies between the ends, and the middle."""
    across = (WIDTH - 2 * MARGIN) / len(spread.counts)
    highest = max(spread.counts)
    parts = [text((0, base - TALL - 16), words, strong=True)] if words else []
    parts.append(line((0, base), (WIDTH, base), MEDIUM))
    for n, count in enumerate(spread.counts):
        if not count:
            continue
        tall = TALL * count / highest
        stroke = SOLID if solid else OUTLINE
        parts.append(rectangle(MARGIN + n * across + 1.5, base - tall, across - 3, tall, stroke))
        parts.append(text((MARGIN + (n + 0.5) * across, base - tall - 4), str(count), anchor="middle"))
    low, high = spread.edges[0], spread.edges[-1]
    if low == high:
        parts.append(text((WIDTH / 2, base + 15), percent(low), anchor="middle"))
        return parts
    parts.append(text((MARGIN, base + 15), percent(low)))
    parts.append(text((WIDTH - MARGIN, base + 15), percent(high), anchor="end"))
    for value, label in ((Decimal(0), "0"), (spread.middle, f"half below {percent(spread.middle)}")):
        at = MARGIN + float((value - low) / (high - low)) * (WIDTH - 2 * MARGIN)
        if value == 0 and not MARGIN + 60 < at < WIDTH - MARGIN - 60:
            continue
        parts.append(line((at, base + (0 if value == 0 else 3)), (at, base + 5), MEDIUM))
        if value:
            parts.append(line((at, base - TALL - 12), (at, base), HIDDEN))
        if not value or abs(at - WIDTH / 2) < WIDTH / 2 - 112:
            parts.append(text((at, base + 15), label, anchor="middle"))
    return parts


def _words(spread: Spread) -> str:
    ends = f"from {percent(spread.least)} to {percent(spread.most)}"
    return f"{spread.count} prices: {ends}, half of them below {percent(spread.middle)}"
