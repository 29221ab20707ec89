"""How a set of price differences lies, as a small picture: one bar for each bin, the ends and nought written below."""

from decimal import Decimal

from quoting.pricing.reprice import Spread
from quoting.propeller.drawing.svg import MEDIUM, SOLID, line, picture, rectangle, text

WIDTH, HEIGHT, BASE, TOP, MARGIN = 320.0, 96.0, 68.0, 16.0, 14.0


def percent(share: Decimal) -> str:
    """A share as a signed percentage with one decimal."""
    return f"{100 * share:+.1f} %"


def spread_svg(spread: Spread, title: str, name: str) -> str:
    """The bins of a spread as bars, each with its count, over an axis from the least to the most.

    `name` is the picture's own on its page.
    """
    across = (WIDTH - 2 * MARGIN) / len(spread.counts)
    highest = max(spread.counts)
    parts = [line((0, BASE), (WIDTH, BASE), MEDIUM)]
    for n, count in enumerate(spread.counts):
        if not count:
            continue
        tall = (BASE - TOP) * count / highest
        parts.append(rectangle(MARGIN + n * across + 1, BASE - tall, across - 2, tall, SOLID))
        parts.append(text((MARGIN + (n + 0.5) * across, BASE - tall - 4), str(count), anchor="middle"))
    if len(spread.counts) == 1:
        parts.append(text((WIDTH / 2, BASE + 14), percent(spread.least), anchor="middle"))
    else:
        parts.append(text((MARGIN, BASE + 14), percent(spread.least)))
        parts.append(text((WIDTH - MARGIN, BASE + 14), percent(spread.most), anchor="end"))
    ends = f"from {percent(spread.least)} to {percent(spread.most)}"
    words = f"{spread.count} prices: {ends}, half of them below {percent(spread.middle)}"
    return picture(parts, WIDTH, HEIGHT, title=title, description=words, name=name)
