"""A display piece on its wall: what must carry it, how its wood moves, and what its edges do to people."""

from collections.abc import Iterator
from math import copysign

from quoting.propeller.checks import words
from quoting.propeller.checks.evidence import COMMON_PRACTICE, Evidence
from quoting.propeller.checks.wood import MOISTURE_CHANGE, across_grain_if_soft
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.loft import TRAILING_EDGE
from quoting.propeller.timber import EMC_SOURCE

CARRIED = 4.0
"""Times the piece's weight that hanger, screws and wall should carry; common practice, no source."""


def hanging(evidence: Evidence) -> Iterator[Finding]:
    """What it weighs, and what hangs it up."""
    weighs, units = evidence.mass.total, evidence.units
    message = (
        f"It will weigh about {words.mass(weighs, units)}, within 8 %: choose hanger, screws and a place on the wall that "
        f"carry {CARRIED:g} times that, {words.mass(CARRIED * weighs, units)}, and hold it against turning."
    )
    yield Finding("hanging", Severity.NOTE, "", weighs, None, "kg", message, COMMON_PRACTICE)


def season(evidence: Evidence) -> Iterator[Finding]:
    """How the room moves the wood."""
    built, settled = evidence.specification.moisture, evidence.seasons[0]
    change, timber = settled.moisture - built, evidence.specification.timber.name
    changes = [s.thickness_change for s in evidence.seasons if s.thickness_change is not None]
    moves = (
        f"the boss moves up to {words.length(max(changes) - min(changes), evidence.units)} in thickness"
        if len(changes) == len(evidence.seasons)
        else f"how much is not published for {timber.lower()}"
    )
    message = (
        f"The wood swells and shrinks between damp and dry season; {moves}: leave the hanger room, and hang it away from "
        "heaters, stoves, sun and damp walls."
    )
    yield Finding("wall-season", Severity.NOTE, "", None, None, "m", message, EMC_SOURCE)
    if abs(change) > MOISTURE_CHANGE:
        way = "damper" if change > 0 else "drier"
        message = (
            f"Where it will hang the wood settles at about {settled.moisture:.0f} %, {abs(change):.1f} points {way} than it "
            "is built: it may warp or crack at the glue lines unless it gets there slowly."
        )
        limit = built + copysign(MOISTURE_CHANGE, change)
        yield Finding(
            "moisture-climate",
            Severity.CAUTION,
            "climate_humidity",
            settled.moisture,
            limit,
            "%",
            message,
            EMC_SOURCE,
        )


def timber(evidence: Evidence) -> Iterator[Finding]:
    """A wood that is kept for pieces such as this."""
    wood = evidence.specification.timber
    soft = across_grain_if_soft(wood)
    if wood.suitable_for_flight and soft is None:
        return
    dents = "" if soft is None else " It is soft and dents easily."
    message = f"{wood.name} is not a wood we would fly, and right for a piece that hangs.{dents}"
    yield Finding("timber-for-display", Severity.NOTE, "", None, None, "", message, COMMON_PRACTICE)


def edges(evidence: Evidence) -> Iterator[Finding]:
    """Thin edges at the height of a head."""
    message = (
        f"Its trailing edges are carved down to {words.length(TRAILING_EDGE, evidence.units)}: hang it where nobody walks "
        "into edges or tips, and lift it by the boss."
    )
    yield Finding("thin-edges", Severity.NOTE, "", TRAILING_EDGE, None, "m", message, COMMON_PRACTICE)
