"""What quotes said against what was kept, as a picture: a line a level with the share, its interval, and what was said."""

from collections.abc import Sequence

from django.utils.translation import gettext as _

from orders.services.kept import Kept
from quoting.propeller.drawing.svg import MEDIUM, SOLID, THIN, circle, line, picture, text

WIDTH, ROW, LEFT, RIGHT, TOP = 420.0, 44.0, 62.0, 18.0, 12.0
TENTHS = 10


def kept_svg(record: Sequence[Kept], name: str = "kept") -> str:
    """The levels below one another on one scale from 0 to 100 %."""
    height = TOP + ROW * len(record) + 26

    def x(share: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * share

    base = TOP + ROW * len(record)
    parts = [line((x(0), base), (x(1), base), MEDIUM)]
    for n in range(0, TENTHS + 1, 2):
        parts.append(line((x(n / TENTHS), base), (x(n / TENTHS), base + 4), THIN))
        parts.append(text((x(n / TENTHS), base + 18), f"{10 * n} %", anchor="middle"))
    for n, kept in enumerate(record):
        y = TOP + ROW * (n + 0.5)
        parts.append(text((4, y + 4), f"{_('said')} {100 * kept.level:.0f} %"))
        parts.append(line((x(kept.level), y - 15), (x(kept.level), y + 15), MEDIUM))
        if kept.share is None:
            parts.append(text((x(0.02), y + 4), _("none yet")))
            continue
        parts.append(line((x(kept.low), y), (x(kept.high), y), MEDIUM))
        parts += [line((x(end), y - 5), (x(end), y + 5), THIN) for end in (kept.low, kept.high)]
        parts.append(circle((x(kept.share), y), 4.5, SOLID))
    words = "; ".join(
        _("of %(count)d that said %(said).0f %%, %(kept)d were kept")
        % {"count": k.count, "said": 100 * k.level, "kept": k.kept}
        for k in record
    )
    return picture(
        parts, WIDTH, height, title=_("What was said and what was kept"), description=words, name=name
    )
