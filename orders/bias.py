"""How recorded minutes compare with estimates, as a picture: a dot for each group with its 95 % range on a ratio scale."""

import math
from collections.abc import Sequence

from quoting.pricing.learning import Bias
from quoting.propeller.drawing.svg import CENTRE, HAIR, OUTLINE, SOLID, circle, line, picture, text

WIDTH, ROW, NAMES, EDGE = 360.0, 22.0, 104.0, 34.0
TICKS = (0.5, 0.67, 0.8, 1.0, 1.25, 1.5, 2.0)


def bias_svg(biases: Sequence[Bias], title: str, name: str) -> str:
    """One row a group: its name, range, dot and count; left of the centre line it takes less time than estimated."""
    height = ROW * len(biases) + 40
    base = height - 22
    parts = []
    for tick in TICKS:
        x = _at(tick)
        parts.append(line((x, 4), (x, base), CENTRE if tick == 1 else HAIR))
        parts.append(text((x, base + 15), f"{tick:g}", anchor="middle", soft=tick != 1))
    for n, bias in enumerate(biases):
        y = ROW * (n + 0.7)
        parts.append(text((0, y + 4), bias.group))
        parts.append(line((_at(bias.low), y), (_at(bias.high), y), OUTLINE))
        parts.append(circle((_at(bias.ratio), y), 3.6, SOLID))
        parts.append(text((WIDTH, y + 4), str(bias.count), anchor="end", soft=True))
    said = "; ".join(
        f"{b.group} {b.ratio:.2f} ({b.low:.2f} to {b.high:.2f}, {b.count} records)" for b in biases
    )
    return picture(parts, WIDTH, height, title=title, description=said, name=name)


def _at(ratio: float) -> float:
    """Across the page on a logarithmic scale from a half to double; beyond stands at the edge."""
    within = min(max(ratio, TICKS[0]), TICKS[-1])
    return NAMES + (WIDTH - EDGE - NAMES) * (math.log2(within) + 1) / 2
