"""Wood: is the timber fit, how wet is it and will it become, how far the boss moves, how many layers."""

from collections.abc import Iterator
from math import copysign

from quoting.propeller.catalogue import Timber
from quoting.propeller.checks import words
from quoting.propeller.checks.evidence import COMMON_PRACTICE, Evidence, is_doubtful
from quoting.propeller.figure import Figure
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.lamination import DEPTH_ALLOWANCE, FEWEST_LAYERS, FEWEST_LAYERS_SOURCE
from quoting.propeller.timber import EMC_SOURCE, STRENGTH_CAUTION_MOISTURE

_NEARLY = 0.004
"""How much thinner a boss may be asked for so that a whole board is saved, in m."""
BUILDING_MOISTURE = (6.0, 12.0)
MOISTURE_CHANGE = 3.0
SOFT = 4.5e6
"""Compression across the grain in Pa below which a wood counts as soft under the bolts: black cherry, the softest usually
flown, bears 4.8 MPa, Sitka spruce 4.0, yellow-poplar 3.4; common practice, no source."""


def across_grain_if_soft(timber: Timber) -> Figure | None:
    """Its published compression across the grain where that is soft; None where it is not or not known."""
    across = timber.compression_perpendicular
    return across if across is not None and not is_doubtful(across) and across.value < SOFT else None


def timber_suitable(evidence: Evidence) -> Iterator[Finding]:
    """Woods the shop would not fly, and woods softer under the bolts than those it does.

    The strength is published, but where soft begins is common practice: so it never stops.
    """
    timber = evidence.specification.timber
    soft = across_grain_if_soft(timber)
    if timber.suitable_for_flight and soft is None:
        return
    found = (
        f" It crushes across the grain at {words.stress(soft.value, evidence.units)}; woods that are flown bear "
        f"{words.bare_stress(SOFT, evidence.units)} or more."
        if soft is not None
        else ""
    )
    remark = f" {timber.remark}" if timber.remark else ""
    message = (
        f"{timber.name} is not a wood we would make a flying propeller of.{found}{remark} Choose a wood "
        f"that is flown, "
        "such as yellow birch or sugar maple, or order a display piece."
    )
    yield Finding(
        "timber-unsuitable",
        Severity.CAUTION,
        "timber",
        None if soft is None else soft.value,
        None if soft is None else SOFT,
        "" if soft is None else "Pa",
        message,
        COMMON_PRACTICE if soft is None else f"{soft.source}; limit: {COMMON_PRACTICE}",
    )


def glue_and_finish(evidence: Evidence) -> Iterator[Finding]:
    """Glues and finishes the shop keeps for display pieces: they let go or let the damp in. Common practice."""
    specification = evidence.specification
    for field, row, instead in (
        ("glue", specification.glue, "resorcinol or structural epoxy"),
        ("finish", specification.finish, "spar varnish or two-part clear"),
    ):
        if row.suitable_for_flight:
            continue
        remark = f" {row.remark}" if row.remark else ""
        message = f"{row.name} is not for a propeller that flies.{remark} Choose {instead}, or order a display piece."
        code = f"{field}-unsuitable"
        yield Finding(code, Severity.CAUTION, field, None, None, "", message, COMMON_PRACTICE)


def moisture(evidence: Evidence) -> Iterator[Finding]:
    """Moisture at building, and how far the climate will take it from there."""
    built = evidence.specification.moisture
    low, high = BUILDING_MOISTURE
    if built > STRENGTH_CAUTION_MOISTURE:
        message = (
            f"Timber at {built:.0f} % moisture is weaker than published, which is for 12 %: dry it first."
        )
        yield Finding(
            "moisture-strength",
            Severity.CAUTION,
            "moisture",
            built,
            STRENGTH_CAUTION_MOISTURE,
            "%",
            message,
            EMC_SOURCE,
        )
    elif not low <= built <= high:
        message = f"Timber is built at {low:.0f} to {high:.0f} % moisture; this one stands at {built:.1f} %."
        yield Finding(
            "moisture-building",
            Severity.CAUTION,
            "moisture",
            built,
            high if built > high else low,
            "%",
            message,
            COMMON_PRACTICE,
        )
    settled = evidence.seasons[0]
    change = settled.moisture - built
    if abs(change) > MOISTURE_CHANGE:
        message = (
            f"Where it will live the wood settles at about {settled.moisture:.0f} %, {abs(change):.1f} points "
            f"{'damper' if change > 0 else 'drier'} than it is built: "
            f"{_moves(settled.thickness_change, evidence.units)} "
            "Check the bolts after the first flight and with every season."
        )
        yield Finding(
            "moisture-climate",
            Severity.CAUTION,
            "climate_humidity",
            settled.moisture,
            built + copysign(MOISTURE_CHANGE, change),
            "%",
            message,
            EMC_SOURCE,
        )
    if settled.moisture > STRENGTH_CAUTION_MOISTURE:
        message = (
            f"In this climate the wood settles at about {settled.moisture:.0f} %, where it is weaker than the "
            "published strengths."
        )
        yield Finding(
            "moisture-strength",
            Severity.CAUTION,
            "climate_humidity",
            settled.moisture,
            STRENGTH_CAUTION_MOISTURE,
            "%",
            message,
            EMC_SOURCE,
        )


def _moves(change: float | None, units: str) -> str:
    if change is None:
        return "how much the boss moves is not published for this wood."
    return f"the boss {'swells' if change > 0 else 'shrinks'} by up to {words.length(abs(change), units)} in thickness."


def boss_movement(evidence: Evidence) -> Iterator[Finding]:
    """How much clamp the dry season takes."""
    changes = [season.thickness_change for season in evidence.seasons]
    if any(change is None for change in changes):
        message = (
            f"Movement with moisture is not published for {evidence.specification.timber.name.lower()}: how much the "
            "boss shrinks was not checked."
        )
        yield Finding("boss-movement", Severity.NOT_CHECKED, "timber", None, None, "m", message, EMC_SOURCE)
        return
    known = [change for change in changes if change is not None]
    swing = max(known) - min(known)
    message = (
        f"Between dry and damp season the boss moves up to {words.length(swing, evidence.units)} in "
        f"thickness, and the bolt circle goes "
        "oval: the bolts lose and gain tension, so their torque must be checked again with every season."
    )
    yield Finding("boss-movement", Severity.NOTE, "", swing, None, "m", message, EMC_SOURCE)


def layers(evidence: Evidence) -> Iterator[Finding]:
    """Five layers or more, and which boss would do with a board less."""
    count, board = evidence.lamination.layers, evidence.lamination.thickness
    thinner = (count - 1) * board - DEPTH_ALLOWANCE
    spared = evidence.blade_depth <= thinner < evidence.boss.thickness <= thinner + _NEARLY
    if spared and count > FEWEST_LAYERS:
        units = evidence.units
        message = (
            f"The blank is glued of {count} boards of {words.length(board, units)}; a boss of "
            f"{words.length(thinner, units)} instead of {words.length(evidence.boss.thickness, units)} would do with one "
            "board less."
        )
        yield Finding(
            "boards",
            Severity.NOTE,
            "boss_thickness",
            evidence.boss.thickness,
            thinner,
            "m",
            message,
            COMMON_PRACTICE,
        )
    if count < FEWEST_LAYERS:
        message = f"The blank would have {count} layers; five or more are customary: use thinner boards."
        yield Finding(
            "too-few-layers",
            Severity.CAUTION,
            "lamination_thickness",
            count,
            FEWEST_LAYERS,
            "",
            message,
            FEWEST_LAYERS_SOURCE,
        )
