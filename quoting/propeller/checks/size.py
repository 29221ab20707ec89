"""Diameter and pitch: experience, the airframe's published limits, and clearance to ground and structure."""

from collections.abc import Iterator

from quoting.propeller.catalogue import Gear, Position
from quoting.propeller.checks.evidence import COMMON_PRACTICE, Evidence, binds_metal, gravest, is_doubtful
from quoting.propeller.checks.words import bare_length, length, length_apart
from quoting.propeller.clearance import GROUND_CLEARANCE, STRUCTURE_CLEARANCE
from quoting.propeller.figure import known
from quoting.propeller.finding import Finding, Severity

INCH = 0.0254
EXPERIENCE_DIAMETER = {2: (45 * INCH, 110 * INCH), 3: (45 * INCH, 90 * INCH), 4: (45 * INCH, 90 * INCH)}
EXPERIENCE_RATIO = (0.40, 1.10)
ROUNDING = 1e-4
_ATTITUDE = (
    " A pusher's tips come nearest to the ground with the nose high: that they clear it at the greatest pitch attitude of "
    "take-off and landing was not checked. Measure there."
)
_METAL = ", which is a metal propeller's limit"
CLEARANCE_SOURCE = (
    "14 CFR 23.925 as it stood before 2017 and 25.925; amateur-built aircraft are not bound by it"
)


def experience(evidence: Evidence) -> Iterator[Finding]:
    """Sizes outside what wooden propellers usually are."""
    low, high = EXPERIENCE_DIAMETER[evidence.specification.blades]
    if not low <= evidence.diameter <= high:
        message = (
            f"A diameter of {length(evidence.diameter, evidence.units)} is outside our experience with "
            f"{evidence.specification.blades} blades ({bare_length(low, evidence.units)} to "
            f"{length(high, evidence.units)}); we will look at it closely."
        )
        limit = low if evidence.diameter < low else high
        yield Finding(
            "diameter-experience",
            Severity.CAUTION,
            "diameter",
            evidence.diameter,
            limit,
            "m",
            message,
            COMMON_PRACTICE,
        )
    ratio = evidence.pitch / evidence.diameter
    low, high = EXPERIENCE_RATIO
    if not low <= ratio <= high:
        message = (
            f"A pitch of {length(evidence.pitch, evidence.units)} on "
            f"{length(evidence.diameter, evidence.units)} is outside our "
            f"experience ({low:.2f} to {high:.2f} times the diameter); the figures are less certain."
        )
        limit = low if ratio < low else high
        yield Finding(
            "pitch-experience", Severity.CAUTION, "pitch", ratio, limit, "", message, COMMON_PRACTICE
        )


def airframe_limits(evidence: Evidence) -> Iterator[Finding]:
    """The diameters the airframe's data allow."""
    frame = evidence.specification.airframe
    if frame is None:
        return
    for limit, side, word in (
        (frame.diameter_max, 1, "largest"),
        (frame.diameter_min, -1, "smallest"),
    ):
        if limit is not None and not is_doubtful(limit) and side * (evidence.diameter - limit.value) > 1e-4:
            message = (
                f"{length(evidence.diameter, evidence.units)} is beyond the {word} diameter given for the "
                f"{frame.name}, "
                f"{length(limit.value, evidence.units)}{_METAL if binds_metal(limit) else ''}."
            )
            yield Finding(
                "diameter-limit",
                Severity.CAUTION if binds_metal(limit) else gravest(limit),
                "diameter",
                evidence.diameter,
                limit.value,
                "m",
                message,
                limit.source,
            )


def usual_diameter(evidence: Evidence) -> Iterator[Finding]:
    """What is flown on the airframe, from memory: more room than it needs is not known to be there."""
    frame, units = evidence.specification.airframe, evidence.units
    if frame is None:
        return
    low, high = frame.usual_diameter_low, frame.usual_diameter_high
    if low is None or high is None:
        return
    span = (
        length(high.value, units)
        if low.value == high.value
        else (f"{bare_length(low.value, units)} to {length(high.value, units)}")
    )
    unsure = " (unsure)" if is_doubtful(low, high) else ""
    usual = f"Usual on the {frame.name} is {span}{unsure}"
    if evidence.diameter > high.value + ROUNDING:
        severity = Severity.NOT_CHECKED if unsure else Severity.CAUTION
        message = (
            f"{usual}; this is {length(evidence.diameter, units)}: measure that there is room to the ground and to the "
            "structure, in every attitude."
        )
        field, limit = "diameter", high.value
    else:
        message = f"{usual}; this is {length(evidence.diameter, units)}."
        severity, field = Severity.NOTE, ""
        limit = low.value if evidence.diameter < low.value else high.value
    yield Finding("usual-diameter", severity, field, evidence.diameter, limit, "m", message, high.source)


def ground_clearance(evidence: Evidence) -> Iterator[Finding]:
    """Tip to ground: 7 in with a nose wheel, 9 in with a tail wheel, 18 in on water."""
    specification = evidence.specification
    frame = specification.airframe
    published = frame.hub_height if frame is not None else None
    height = specification.hub_height or known(published)
    pusher = specification.position is Position.PUSHER
    if height is None:
        message = (
            "Ground clearance was not checked: measure the height of the propeller shaft above the ground, "
            f"aeroplane level, and tell us.{_ATTITUDE if pusher else ''}"
        )
        yield Finding(
            "ground-clearance", Severity.NOT_CHECKED, "hub_height", None, None, "m", message, CLEARANCE_SOURCE
        )
        return
    gear = frame.gear if frame is not None else None
    wanted = GROUND_CLEARANCE[gear or Gear.TAIL_WHEEL]
    left = height - 0.5 * evidence.diameter
    if left <= 0:
        message = (
            f"With the shaft {length(height, evidence.units)} above the ground a diameter of "
            f"{length(evidence.diameter, evidence.units)} "
            "strikes the ground."
        )
        severity = Severity.STOP if specification.hub_height is not None else gravest(published)
        yield Finding("ground-clearance", severity, "diameter", left, wanted, "m", message, CLEARANCE_SOURCE)
    elif left < wanted - ROUNDING:
        message = (
            f"Only {length_apart(left, wanted, evidence.units)} stay between tip and ground; "
            f"{length(wanted, evidence.units)} are customary"
            f"{'' if gear is None else f' with {_gear_in_words(gear)}'}.{_ATTITUDE if pusher else ''}"
        )
        yield Finding(
            "ground-clearance", Severity.CAUTION, "diameter", left, wanted, "m", message, CLEARANCE_SOURCE
        )
    elif pusher:
        message = (
            f"{length(left, evidence.units)} stay between tip and ground with the aeroplane level.{_ATTITUDE}"
        )
        yield Finding(
            "ground-clearance",
            Severity.NOT_CHECKED,
            "hub_height",
            left,
            wanted,
            "m",
            message,
            CLEARANCE_SOURCE,
        )
    else:
        message = (
            f"{length(left, evidence.units)} stay between tip and ground; "
            f"{length(wanted, evidence.units)} are customary."
        )
        yield Finding("ground-clearance", Severity.NOTE, "", left, wanted, "m", message, CLEARANCE_SOURCE)


def _gear_in_words(gear: Gear) -> str:
    return "floats" if gear is Gear.FLOATS else f"a {gear.value}"


def structure_clearance(evidence: Evidence) -> Iterator[Finding]:
    """Tip to cowl, booms and tail: at least an inch."""
    free = evidence.specification.free_radius
    least = length(STRUCTURE_CLEARANCE, evidence.units)
    if free is None:
        message = (
            f"Clearance to the structure was not checked: at least {least} must stay between the tips and any part of "
            f"the aeroplane, and {length(0.5 * STRUCTURE_CLEARANCE, evidence.units)} lengthwise."
        )
        yield Finding(
            "structure-clearance",
            Severity.NOT_CHECKED,
            "free_radius",
            None,
            STRUCTURE_CLEARANCE,
            "m",
            message,
            CLEARANCE_SOURCE,
        )
        return
    left = free - 0.5 * evidence.diameter
    if left <= 0:
        severity, message = Severity.STOP, "The tips strike the structure."
    elif left < STRUCTURE_CLEARANCE - ROUNDING:
        severity = Severity.CAUTION
        message = (
            f"Only {length_apart(left, STRUCTURE_CLEARANCE, evidence.units)} stay between the tips and the structure; "
            f"at least {least} is customary."
        )
    else:
        severity = Severity.NOTE
        message = (
            f"{length(left, evidence.units)} stay between the tips and the structure; at least "
            f"{least} is customary."
        )
    field = "" if severity is Severity.NOTE else "diameter"
    yield Finding(
        "structure-clearance", severity, field, left, STRUCTURE_CLEARANCE, "m", message, CLEARANCE_SOURCE
    )
