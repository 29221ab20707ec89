"""SVG as text: escaped elements, short numbers, paths, and the drawing-office strokes every picture shares.

Colours are `currentColor` in presentation attributes, so that a picture follows the page's ink in light and dark,
needs no style element under a strict content policy, and can be restyled by the classes `d-*`.
"""

from collections.abc import Iterable, Sequence
from html import escape
from math import atan2, cos, degrees, hypot, radians, sin

Point = tuple[float, float]

FONT = "Source Sans Pro, ui-sans-serif, system-ui, sans-serif"
OUTLINE = 'class="d-line" fill="none" stroke="currentColor" stroke-width="1.4" stroke-linejoin="round"'
MEDIUM = 'class="d-line" fill="none" stroke="currentColor" stroke-width="1"'
THIN = 'class="d-thin" fill="none" stroke="currentColor" stroke-opacity=".65" stroke-width=".7"'
HAIR = 'class="d-thin" fill="none" stroke="currentColor" stroke-opacity=".28" stroke-width=".6"'
CENTRE = THIN + ' stroke-dasharray="12 3 2 3"'
CIRCLE_OF_CENTRES = THIN + ' stroke-dasharray="6 3 1 3"'
HIDDEN = THIN + ' stroke-dasharray="4 2.5"'
SOLID = 'class="d-solid" fill="currentColor" stroke="none"'


def number(value: float) -> str:
    """At most two decimals, no trailing zeros, never minus nought."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def path(points: Iterable[Point], attributes: str, *, closed: bool = False) -> str:
    """A polyline through the points as one path."""
    d = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)
    return f'<path d="{d}{"Z" if closed else ""}" {attributes}/>'


def curve(d: str, attributes: str) -> str:
    return f'<path d="{d}" {attributes}/>'


def line(a: Point, b: Point, attributes: str) -> str:
    return path((a, b), attributes)


def circle(centre: Point, radius: float, attributes: str) -> str:
    x, y = centre
    return f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(radius)}" {attributes}/>'


def rectangle(x: float, y: float, width: float, height: float, attributes: str) -> str:
    return f'<rect x="{number(x)}" y="{number(y)}" width="{number(width)}" height="{number(height)}" {attributes}/>'


def text(
    at: Point,
    words: str,
    *,
    size: float = 11,
    anchor: str = "start",
    strong: bool = False,
    soft: bool = False,
    turned: float = 0.0,
) -> str:
    """Words at a point; `turned` degrees about it, `soft` for what may be read second."""
    x, y = at
    turn = f' transform="rotate({number(turned)} {number(x)} {number(y)})"' if turned else ""
    weight = ' font-weight="600"' if strong else ""
    pale = ' fill-opacity=".8"' if soft else ""
    return (
        f'<text class="d-text" x="{number(x)}" y="{number(y)}" font-size="{number(size)}" '
        f'text-anchor="{anchor}" fill="currentColor" stroke="none"{weight}{pale}{turn}>{escape(words)}</text>'
    )


def arrow_head(tip: Point, towards: float, size: float = 8.0) -> str:
    """A slim filled head with its tip at `tip`, pointing `towards` degrees (0 right, 90 down the page)."""
    x, y = tip
    a = radians(towards)
    back = (x - size * cos(a), y - size * sin(a))
    side = (-sin(a) * size / 3.2, cos(a) * size / 3.2)
    corners = (tip, (back[0] + side[0], back[1] + side[1]), (back[0] - side[0], back[1] - side[1]))
    return path(corners, SOLID, closed=True)


def dimension(
    a: Point,
    b: Point,
    words: str,
    *,
    offset: float,
    size: float = 11.0,
    beyond: float = 4.0,
    start: float = 3.0,
) -> str:
    """A dimension line from a to b, `offset` to the right hand of the way from a to b, with extension lines.

    The words stand above the line's middle, turned to be read from below or from the right; where the line is
    too short for its arrows they point inwards from outside.
    """
    length = hypot(b[0] - a[0], b[1] - a[1])
    along = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
    across = (-along[1], along[0])
    sign = 1.0 if offset >= 0 else -1.0

    def at(p: Point, distance: float, forward: float = 0.0) -> Point:
        return (
            p[0] + across[0] * distance + along[0] * forward,
            p[1] + across[1] * distance + along[1] * forward,
        )

    start_a, end_a = at(a, offset), at(b, offset)
    heading = degrees(atan2(along[1], along[0]))
    short = length < 22
    parts = [line(at(p, sign * start), at(p, offset + sign * beyond), THIN) for p in (a, b)]
    if short:
        parts += [line(at(start_a, 0, -14), at(end_a, 0, 14), THIN)]
        parts += [arrow_head(start_a, heading, 6), arrow_head(end_a, heading + 180, 6)]
    else:
        parts += [
            line(start_a, end_a, THIN),
            arrow_head(start_a, heading + 180, 8),
            arrow_head(end_a, heading, 8),
        ]
    readable = heading if -90 < heading <= 90 else heading - 180
    if readable == 90:
        readable = -90.0
    up = radians(readable - 90)
    middle = ((start_a[0] + end_a[0]) / 2 + 4 * cos(up), (start_a[1] + end_a[1]) / 2 + 4 * sin(up))
    if short:
        middle = at(middle, 0, 18)
        return "".join(parts) + text(middle, words, size=size, anchor="start", turned=readable)
    return "".join(parts) + text(middle, words, size=size, anchor="middle", turned=readable)


def arc_arrow(centre: Point, radius: float, start: float, sweep: float, attributes: str = THIN) -> str:
    """An arc about `centre` from `start` degrees through `sweep` degrees (positive is clockwise), with its head."""
    x, y = centre
    a, b = radians(start), radians(start + sweep)
    begin, end = (x + radius * cos(a), y + radius * sin(a)), (x + radius * cos(b), y + radius * sin(b))
    flag = 1 if sweep > 0 else 0
    d = (
        f"M{number(begin[0])} {number(begin[1])}A{number(radius)} {number(radius)} 0 "
        f"{int(abs(sweep) > 180)} {flag} {number(end[0])} {number(end[1])}"
    )
    lean = degrees(8 / radius) / 2
    towards = start + sweep + (90 - lean if sweep > 0 else lean - 90)
    return curve(d, attributes) + arrow_head(end, towards, 8)


def group(parts: Sequence[str], attributes: str = "") -> str:
    return f"<g {attributes}>{''.join(parts)}</g>" if attributes else f"<g>{''.join(parts)}</g>"


def picture(
    parts: Sequence[str],
    width: float,
    height: float,
    *,
    title: str,
    description: str,
    name: str,
    size_mm: tuple[float, float] | None = None,
) -> str:
    """The whole `svg` element with an accessible title and description.

    `name` makes the ids of title and description unique on a page. `size_mm` fixes the printed size; otherwise
    the picture takes the width of its place.
    """
    size = f'width="{number(size_mm[0])}mm" height="{number(size_mm[1])}mm"' if size_mm else 'width="100%"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {number(width)} {number(height)}" {size} '
        f'class="drawing drawing-{name}" role="img" aria-labelledby="{name}-title {name}-desc" '
        f'font-family="{FONT}">'
        f'<title id="{name}-title">{escape(title)}</title><desc id="{name}-desc">{escape(description)}</desc>'
        f"{''.join(parts)}</svg>"
    )
