"""How a propeller is built: every stage once, with what it does to the wood, what it waits for and what undoes it.

Minutes, labels, skills, the order of the shop, what must be done again and what may be left out all follow from this
table. The order of work is common practice, no source.
"""

from dataclasses import dataclass
from enum import Enum


class Work(Enum):
    """What a stage does to the wood."""

    BLANK = "makes the blank"
    CUT = "takes wood off, and with it balance and finish"
    HOLES = "opens holes in the boss"
    NONE = "leaves the wood as it is"


ANY_WORK = frozenset(Work)


@dataclass(frozen=True, slots=True)
class BuildStage:
    """One stage of the build.

    `after` names the stages that the article itself wants done before; `undone_by` says which work, done again at an
    earlier stage, spoils this one. `machine` and `rack` are the keys of what it is usually done on and rests on
    afterwards; a shop changes them, and the skill, as it likes.
    """

    key: str
    label: str
    skill: str
    after: tuple[str, ...] = ()
    work: Work = Work.NONE
    undone_by: frozenset[Work] = frozenset()
    may_be_left_out: bool = False
    wants_mock_up: bool = False
    machine: str = ""
    rack: str = ""

    @property
    def name(self) -> str:
        """The label as a heading."""
        return self.label[0].upper() + self.label[1:]


_CUT = frozenset({Work.CUT})

_TABLE = (
    BuildStage("condition", "select and condition timber", "lamination", rack="resting"),
    BuildStage(
        "laminate", "laminate", "lamination", after=("condition",), work=Work.BLANK, rack="clamps"
    ),
    BuildStage("rest", "let the blank rest", "lamination", after=("laminate",), rack="resting"),
    BuildStage("bore", "bore the centre", "drilling", after=("rest",), work=Work.CUT, machine="lathe"),
    BuildStage("rough-carve", "rough carve", "carving", after=("rest",), work=Work.CUT, machine="bandsaw"),
    BuildStage("shape-boss", "shape the boss", "carving", after=("rest",), work=Work.CUT, machine="bandsaw"),
    BuildStage("trim-tips", "trim tips", "carving", after=("rest", "rough-carve"), work=Work.CUT),
    BuildStage(
        "sand", "sand", "carving", after=("rest", "rough-carve", "shape-boss", "trim-tips"), work=Work.CUT
    ),
    BuildStage("track", "check track and pitch", "balancing", after=("bore", "sand"), undone_by=_CUT),
    BuildStage(
        "balance", "balance", "balancing", after=("track",), undone_by=_CUT, machine="balance-stand"
    ),
    BuildStage("drill", "drill bolt holes", "drilling", after=("balance",), work=Work.HOLES, machine="drill"),
    BuildStage("stamp", "stamp and colour the figures", "finishing", after=("sand",)),
    BuildStage(
        "edge-guard", "edge guard and tip cloth", "finishing", after=("sand",), may_be_left_out=True
    ),
    BuildStage(
        "varnish", "varnish", "finishing", after=("stamp", "edge-guard", "balance"), undone_by=_CUT,
        wants_mock_up=True, rack="varnish",
    ),
    BuildStage(
        "seal-holes", "seal holes", "finishing", after=("drill",), undone_by=frozenset({Work.HOLES}),
        rack="varnish",
    ),
    BuildStage("decal", "apply decal", "finishing", after=("varnish",), undone_by=_CUT, may_be_left_out=True),
    BuildStage(
        "final-balance", "final balance", "balancing", after=("varnish", "seal-holes", "decal"),
        undone_by=ANY_WORK, machine="balance-stand",
    ),
    BuildStage("inspect", "inspect", "inspection", after=("final-balance",), undone_by=ANY_WORK),
    BuildStage("crate", "crate", "finishing", after=("inspect",), undone_by=ANY_WORK),
)  # fmt: skip

STAGES: dict[str, BuildStage] = {stage.key: stage for stage in _TABLE}
"""The stages by key, in build order."""

SKILLS: tuple[str, ...] = tuple(dict.fromkeys(stage.skill for stage in _TABLE))
"""What somebody at the bench can do, in the order in which the build asks for it."""

BEFORE: tuple[tuple[str, str], ...] = tuple((earlier, s.key) for s in _TABLE for earlier in s.after)
"""Pairs (earlier, later) that the article itself does not allow the other way round.

Nothing is cut before the glue has rested, nothing drilled before the balance is right, nothing varnished before the
figures are stamped and the guard is on, and nothing changes the mass after the final balance.
"""

MOCK_UP_BEFORE = next(stage.key for stage in _TABLE if stage.wants_mock_up)
"""The stage that waits for the customer's approval of the mock-up."""

INSPECTION, CRATING = "inspect", "crate"
"""The stage whose record releases the propeller, and the one that follows its release."""


def undone_with(key: str) -> frozenset[str]:
    """The later stages that are spoiled when a stage is done again. A blank made anew leaves nothing of what followed.

    Raises KeyError for a stage that is not in the table.
    """
    work, keys = STAGES[key].work, list(STAGES)
    later = keys[keys.index(key) + 1 :]
    return frozenset(k for k in later if work is Work.BLANK or work in STAGES[k].undone_by)
