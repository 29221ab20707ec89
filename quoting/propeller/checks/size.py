"""Diameter and pitch: experience, the airframe's published limits, and clearance to ground and structure."""

from collections.abc import Iterator

from quoting.propeller.catalogue import Gear
from quoting.propeller.checks.evidence import COMMON_PRACTICE, Evidence, binds_metal, gravest, is_doubtful
from quoting.propeller.clearance import GROUND_CLEARANCE, STRUCTURE_CLEARANCE
from quoting.propeller.figure import known
from quoting.propeller.finding import Finding, Severity

INCH = 0.0254
EXPERIENCE_DIAMETER = {2: (45 * INCH, 110 * INCH), 3: (45 * INCH, 90 * INCH), 4: (45 * INCH, 90 * INCH)}
EXPERIENCE_RATIO = (0.40, 1.10)
ROUNDING = 1e-4
_METAL = ", which is a metal propeller's limit"
CLEARANCE_SOURCE = (
    "14 CFR 23.925 as it stood before 2017 and 25.925; amateur-built aircraft are not bound by it"
)


def experience(evidence: Evidence) -> Iterator[Finding]:
    """Sizes outside what wooden propellers usually are."""
    low, high = EXPERIENCE_DIAMETER[evidence.specification.blades]
    if not low <= evidence.diameter <= high:
        message = (
            f"A diameter of {evidence.diameter / INCH:.3g} in is outside our experience with "
            f"{evidence.specification.blades} blades ({low / INCH:.0f} to {high / INCH:.0f} in); we will look at it closely."
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
            f"A pitch of {evidence.pitch / INCH:.3g} in on {evidence.diameter / INCH:.3g} in is outside our "
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
                f"{evidence.diameter / INCH:.4g} in is beyond the {word} diameter given for the {frame.name}, "
                f"{limit.value / INCH:.4g} in{_METAL if binds_metal(limit) else ''}."
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


def ground_clearance(evidence: Evidence) -> Iterator[Finding]:
    """Tip to ground: 7 in with a nose wheel, 9 in with a tail wheel, 18 in on water."""
    specification = evidence.specification
    frame = specification.airframe
    published = frame.hub_height if frame is not None else None
    height = specification.hub_height or known(published)
    if height is None:
        message = (
            "Ground clearance was not checked: measure the height of the propeller shaft above the ground, "
            "aeroplane level, and tell us."
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
            f"With the shaft {height / INCH:.3g} in above the ground a diameter of {evidence.diameter / INCH:.3g} in "
            "strikes the ground."
        )
        severity = Severity.STOP if specification.hub_height is not None else gravest(published)
        yield Finding("ground-clearance", severity, "diameter", left, wanted, "m", message, CLEARANCE_SOURCE)
    elif left < wanted - ROUNDING:
        message = (
            f"Only {left / INCH:.2g} in stay between tip and ground; {wanted / INCH:.0f} in are customary"
            f"{'' if gear is None else f' with {_gear_in_words(gear)}'}."
        )
        yield Finding(
            "ground-clearance", Severity.CAUTION, "diameter", left, wanted, "m", message, CLEARANCE_SOURCE
        )
    else:
        message = f"{left / INCH:.3g} in stay between tip and ground; {wanted / INCH:.0f} in are customary."
        yield Finding("ground-clearance", Severity.NOTE, "", left, wanted, "m", message, CLEARANCE_SOURCE)


def _gear_in_words(gear: Gear) -> str:
    return "floats" if gear is Gear.FLOATS else f"a {gear.value}"


def structure_clearance(evidence: Evidence) -> Iterator[Finding]:
    """Tip to cowl, booms and tail: at least an inch."""
    free = evidence.specification.free_radius
    if free is None:
        message = (
            "Clearance to the structure was not checked: at least 1 in must stay between the tips and any part of "
            "the aeroplane, and 1/2 in lengthwise."
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
            f"Only {left / INCH:.2g} in stay between the tips and the structure; at least 1 in is customary."
        )
    else:
        severity = Severity.NOTE
        message = f"{left / INCH:.3g} in stay between the tips and the structure; at least 1 in is customary."
    field = "" if severity is Severity.NOTE else "diameter"
    yield Finding(
        "structure-clearance", severity, field, left, STRUCTURE_CLEARANCE, "m", message, CLEARANCE_SOURCE
    )
