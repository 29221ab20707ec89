"""The forecast as a picture: how likely the propeller is ready by a day, with the three dates marked."""

from datetime import date
from math import exp

from quoting.propeller.drawing.svg import MEDIUM, SOLID, Point, line, path, picture, rectangle, text

Z80, Z95 = 0.8416, 1.6449
"""Normal scores of 80 and 95 %; from memory of the normal table."""
LEAST_TAIL = 1.75
MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()
WIDTH, BASE, TOP, MARGIN = 320.0, 58.0, 8.0, 14.0


def day_words(day: date, as_of: date) -> str:
    """12 Mar, with the year where it is not the year of `as_of`."""
    words = f"{day.day} {MONTHS[day.month - 1]}"
    return words if day.year == as_of.year else f"{words} {day.year}"


def _density(days50: float, days80: float, days95: float) -> list[Point]:
    """(day, relative density) of the smooth curve whose quantiles are the three dates.

    The day as a function of the normal score is a quadratic through the three points above the median and its
    tangent (bent where it would reach today) below it; the density is the normal density over the slope.
    """
    spread80 = max(days80 - days50, 0.5)
    spread95 = max(
        days95 - days50, LEAST_TAIL * spread80
    )  # rounding to working days may let the two fall together
    bend = (spread95 / Z95 - spread80 / Z80) / (Z95 - Z80)
    slope = max(spread80 / Z80 - bend * Z80, 0.2 * spread80)
    roomy = days50 > 3 * slope
    if bend < 0 and not roomy:
        bend, slope = 0.0, spread80 / Z80
    points: list[Point] = []
    for k in range(-60, 61):
        z = k / 20
        if z < 0 < days50 and (bend >= 0 or not roomy):
            day = days50 * exp(slope * z / days50)
            points.append((day, exp(-z * z / 2) / (slope * day / days50)))
            continue
        rate = max(slope + 2 * bend * max(z, 0.0), 0.15 * slope)
        day = days50 + slope * z + (bend * z * z if z > 0 else 0.0)
        if not points or day > points[-1][0]:
            points.append((day, exp(-z * z / 2) / rate))
    return points


def range_svg(p50: date, p80: date, p95: date, as_of: date, *, promise: date | None = None) -> str:
    """The forecast: a curve over the days, likely by (50 %), plan on (80 %) and 19 in 20 by (95 %).

    Raises ValueError when the dates are out of order. `promise` adds the promised day's mark.
    """
    if not as_of <= p50 <= p80 <= p95:
        raise ValueError(f"dates out of order: as of {as_of}, {p50}, {p80}, {p95}")
    days = [(day - as_of).days for day in (p50, p80, p95)]
    curve = [(day, height) for day, height in _density(*days) if day >= 0]
    first = max(0.0, curve[0][0] - 0.1 * (days[2] - days[0]))
    last = max(curve[-1][0], (promise - as_of).days if promise else 0)
    across = (WIDTH - 2 * MARGIN) / max(last - first, 1.0)
    highest = max(height for _, height in curve)

    def place(day: float, height: float = 0.0) -> Point:
        return MARGIN + (day - first) * across, BASE - (BASE - TOP) * height / highest

    hill = [place(day, height) for day, height in curve]
    hill = [(hill[0][0], BASE), *hill, (hill[-1][0], BASE)]
    parts = [
        path(hill, 'class="d-fill" fill="currentColor" fill-opacity=".13" stroke="none"', closed=True),
        line((0, BASE), (WIDTH, BASE), MEDIUM),
    ]
    marks = {p50: False, p95: False, p80: True}
    if promise:
        marks[promise] = True
    ends: list[float] = []  # where the last label of each row ends
    for day, strong in sorted(marks.items()):
        x, _ = place((day - as_of).days)
        mark = (
            rectangle(x - 1.25, TOP + 4, 2.5, BASE - TOP - 4, SOLID)
            if strong
            else line((x, TOP + 14), (x, BASE), MEDIUM + ' stroke-dasharray="3 3"')
        )
        label = day_words(day, as_of)
        half = (3.5 if strong else 3.1) * len(label)
        at = min(max(x, half), WIDTH - half)
        row = next((row for row, end in enumerate(ends) if end + 4 <= at - half), len(ends))
        ends[row : row + 1] = [at + half]
        parts += [
            mark,
            text(
                (at, BASE + 14 + 15 * row), label, size=11.5, anchor="middle", strong=strong, soft=not strong
            ),
        ]
    return picture(
        parts,
        WIDTH,
        BASE + 4 + 15 * max(len(ends), 2),
        title="When it can be ready",
        description=(
            f"Likely by {day_words(p50, as_of)}, plan on {day_words(p80, as_of)}, "
            f"19 in 20 by {day_words(p95, as_of)}, as of {as_of.isoformat()}"
            + (f"; promised for {day_words(promise, as_of)}" if promise else "")
        ),
        name="range",
    )
