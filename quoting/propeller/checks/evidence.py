"""What the checks look at: the specification and everything computed from it."""

from collections.abc import Iterable
from dataclasses import dataclass

from quoting.propeller.figure import Figure, Trust
from quoting.propeller.finding import Severity
from quoting.propeller.hub import Boss
from quoting.propeller.joint import Joint
from quoting.propeller.lamination import Lamination
from quoting.propeller.mass import Mass
from quoting.propeller.matching import Performance, Unmatched
from quoting.propeller.specification import Specification
from quoting.propeller.strength import Strength
from quoting.propeller.timber import Season

COMMON_PRACTICE = "common practice, no source"
JUDGEMENT = "judgement, no source"


@dataclass(frozen=True, eq=False)
class Evidence:
    """One resolved specification (diameter, pitch and boss filled in) with its geometry and figures, SI units.

    `rated_speed` is the propeller's at the engine's rated speed, rev/s. None where a figure was missing.
    `unmatched` says why there is no performance although the engine is known.
    """

    specification: Specification
    boss: Boss
    lamination: Lamination
    mass: Mass
    joint: Joint
    seasons: tuple[Season, ...]
    rated_speed: float | None
    performance: Performance | None
    strength: Strength | None
    unmatched: Unmatched | None = None

    @property
    def not_run(self) -> str:
        """Why nothing is known of how it runs."""
        if self.unmatched is not None:
            return "engine and propeller do not run together"
        return "the engine's power and rpm are not known"

    @property
    def diameter(self) -> float:
        assert self.specification.diameter is not None
        return self.specification.diameter

    @property
    def pitch(self) -> float:
        assert self.specification.pitch is not None
        return self.specification.pitch


def gravest(*figures: Figure | None) -> Severity:
    """STOP when every figure judged by may stop, CAUTION when one is from memory, practice or missing."""
    trusted = all(figure is not None and figure.trust.may_stop for figure in figures)
    return Severity.STOP if trusted else Severity.CAUTION


def binds_metal(*figures: Figure | None) -> bool:
    """Whether a limit was published for a metal propeller, by the words of its source: it binds only that one."""
    return any(figure is not None and "metal propeller" in figure.source for figure in figures)


def is_doubtful(*figures: Figure | None) -> bool:
    """Whether a figure is missing or marked unsure, so that no check may lean on it."""
    return any(figure is None or figure.trust is Trust.UNSURE for figure in figures)


def sources(figures: Iterable[Figure | None]) -> str:
    """The sources of the figures, each once."""
    return "; ".join(dict.fromkeys(figure.source for figure in figures if figure is not None))
