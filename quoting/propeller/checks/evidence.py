"""What the checks look at: the specification and everything computed from it."""

from collections.abc import Iterable
from dataclasses import dataclass

from quoting.propeller.figure import Figure, Trust, known
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

    `blade_depth` is the blade's greatest along the shaft outside the boss, in m.
    `rated_speed` is the propeller's at the engine's rated speed, rev/s. None where a figure was missing.
    `performance`, `strength` and torques are those at sea level, where engine and air are strongest; `high` is the
    performance at the usual height of flight where that is above. `unmatched` says why there is no performance
    although the engine is known.
    """

    specification: Specification
    boss: Boss
    lamination: Lamination
    mass: Mass
    blade_depth: float
    joint: Joint
    seasons: tuple[Season, ...]
    rated_speed: float | None
    performance: Performance | None
    strength: Strength | None
    unmatched: Unmatched | None = None
    high: Performance | None = None

    @property
    def units(self) -> str:
        """The customer's unit of length, in or mm: findings are told in what goes with it."""
        return self.specification.entered_unit

    @property
    def not_run(self) -> str:
        """Why nothing is known of how it runs."""
        if self.unmatched is not None:
            return "engine and propeller do not run together"
        return "the engine's power and rpm are not known"

    @property
    def greatest_speed(self) -> Figure | None:
        """The crankshaft speed not to be passed standing and climbing: the take-off rpm where there is one."""
        engine = self.specification.engine
        if engine is None:
            return None
        takeoff = engine.takeoff_speed
        return engine.rated_speed if is_doubtful(takeoff) else takeoff

    @property
    def greatest_share(self) -> float:
        """That speed over the rated one."""
        engine, most = self.specification.engine, known(self.greatest_speed)
        rated = None if engine is None else known(engine.rated_speed)
        return 1.0 if most is None or not rated else max(most / rated, 1.0)

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
