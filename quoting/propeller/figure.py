"""A figure with where it came from: the mark of trust decides what may be concluded from it."""

from dataclasses import dataclass
from enum import StrEnum


class Trust(StrEnum):
    """How far a figure may be relied on."""

    PUBLISHED = "published"
    """Read in the named document."""
    COMPUTED = "computed"
    """Worked out here from published figures by a stated formula."""
    MEASURED = "measured"
    """Measured by the customer or at the bench."""
    MEMORY = "memory"
    """From memory of the named document, not read again."""
    COMMON_PRACTICE = "common practice"
    """What the trade does; no source."""
    UNSURE = "unsure"
    """Known to be doubtful: shown, never used in a check."""

    @property
    def may_stop(self) -> bool:
        """Only published, computed and measured figures may raise a stop."""
        return self in (Trust.PUBLISHED, Trust.COMPUTED, Trust.MEASURED)


@dataclass(frozen=True, slots=True)
class Figure:
    """One value in SI units, its mark of trust and its source in words."""

    value: float
    trust: Trust
    source: str


def known(figure: Figure | None) -> float | None:
    """The figure's value where a check may lean on it; None where it is missing or marked unsure."""
    return None if figure is None or figure.trust is Trust.UNSURE else figure.value
