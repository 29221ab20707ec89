"""A timber as a swatch: its own colour, and grain lines drawn from its kind of figure, the same for the same timber."""

from hashlib import sha256
from math import pi, sin

from quoting.propeller.catalogue import Timber
from quoting.propeller.drawing.svg import curve, number, picture, rectangle

WIDTH, HEIGHT = 120.0, 44.0


def _numbers(seed: str, count: int) -> list[float]:
    """`count` evenly spread numbers from 0 to 1 that depend on `seed` alone."""
    found: list[float] = []
    k = 0
    while len(found) < count:
        found += [byte / 255 for byte in sha256(f"{seed} {k}".encode()).digest()]
        k += 1
    return found[:count]


def _grain_line(y: float, swing: float, waves: float, phase: float, strength: float) -> str:
    points = [
        (
            x,
            y
            + swing * sin(2 * pi * waves * x / WIDTH + phase)
            + 0.4 * swing * sin(7 * x / WIDTH + 2 * phase),
        )
        for x in range(0, int(WIDTH) + 1, 6)
    ]
    d = "M" + "L".join(f"{number(x)} {number(py)}" for x, py in points)
    return curve(
        d,
        f'fill="none" stroke="#2a1a0c" stroke-opacity="{number(strength)}" stroke-width="{number(0.5 + strength)}"',
    )


def swatch_svg(timber: Timber, *, laminations: int = 1, name: str = "") -> str:
    """The timber's swatch. `grain` words bold, open, wavy or curly change its lines; others draw a quiet grain."""
    kind = timber.grain.lower()
    bold = any(word in kind for word in ("bold", "open", "coarse", "strong"))
    wavy = any(word in kind for word in ("wavy", "curl", "interlocked", "ribbon"))
    count = 9 if bold else 14
    random = _numbers(timber.code, 4 * count)
    parts = [rectangle(0, 0, WIDTH, HEIGHT, f'fill="{timber.colour}"')]
    for k in range(count):
        a, b, c, d = random[4 * k : 4 * k + 4]
        y = (k + 0.2 + 0.6 * a) * HEIGHT / count
        swing = (2.6 if wavy else 1.2) * (0.4 + b)
        parts.append(
            _grain_line(y, swing, 2.2 if wavy else 0.6 + 0.5 * c, 6 * d, (0.34 if bold else 0.18) + 0.12 * c)
        )
    for k in range(1, laminations):
        y = k * HEIGHT / laminations
        parts.append(f'<path d="M0 {number(y)}H{number(WIDTH)}" stroke="#2a1a0c" stroke-width="1.1"/>')
    parts.append(rectangle(0.5, 0.5, WIDTH - 1, HEIGHT - 1, 'fill="none" stroke="currentColor"'))
    return picture(
        parts,
        WIDTH,
        HEIGHT,
        title=timber.name,
        description=f"{timber.name}: {timber.grain or 'quiet grain'}",
        name=name or f"swatch-{timber.code}",
    )
