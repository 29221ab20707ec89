"""Wood: is the timber fit, how wet is it and will it become, is it strong enough, how many layers, how heavy."""

from collections.abc import Iterator
from math import copysign

from quoting.propeller.checks.evidence import COMMON_PRACTICE, Evidence, gravest, is_doubtful
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.lamination import FEWEST_LAYERS, FEWEST_LAYERS_SOURCE
from quoting.propeller.strength import (
    COMPRESSION_FACTOR_WANTED,
    FACTOR_SOURCE,
    TENSION_FACTOR_WANTED,
    StressCase,
)
from quoting.propeller.timber import EMC_SOURCE, STRENGTH_CAUTION_MOISTURE

BUILDING_MOISTURE = (6.0, 12.0)
MOISTURE_CHANGE = 3.0
HEAVY = 1.1
"""Mass over diameter cubed in kg/m3 beyond which a propeller is heavy for its size; common practice, no source."""


def timber_suitable(evidence: Evidence) -> Iterator[Finding]:
    """Woods the shop would not fly."""
    timber = evidence.specification.timber
    if not timber.suitable_for_flight:
        remark = f" {timber.remark}" if timber.remark else ""
        message = f"{timber.name} is not a wood we would make a flying propeller of.{remark}"
        yield Finding(
            "timber-unsuitable", Severity.CAUTION, "timber", None, None, "", message, COMMON_PRACTICE
        )


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
            f"{'damper' if change > 0 else 'drier'} than it is built: {_moves(settled.thickness_change)} "
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


def _moves(change: float | None) -> str:
    if change is None:
        return "how much the boss moves is not published for this wood."
    return (
        f"the boss {'swells' if change > 0 else 'shrinks'} by up to {abs(change) * 1000:.1f} mm in thickness."
    )


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
        f"Between dry and damp season the boss moves up to {swing * 1000:.1f} mm in thickness, and the bolt circle goes "
        "oval: the bolts lose and gain tension, so their torque must be checked again with every season."
    )
    yield Finding("boss-movement", Severity.NOTE, "", swing, None, "m", message, EMC_SOURCE)


def stress(evidence: Evidence) -> Iterator[Finding]:
    """Tension and compression at the worst station of every case."""
    strength, timber = evidence.strength, evidence.specification.timber
    if strength is None:
        message = "Stress in the blade was not checked: the engine's power and rpm are not known."
        yield Finding("stress", Severity.NOT_CHECKED, "engine", None, None, "", message, FACTOR_SOURCE)
        return
    if is_doubtful(timber.modulus_of_rupture, timber.compression_parallel, timber.modulus_of_elasticity):
        message = (
            f"Not every strength of {timber.name.lower()} is published: the stress check is not complete."
        )
        yield Finding("stress", Severity.NOT_CHECKED, "timber", None, None, "", message, FACTOR_SOURCE)
    for case in strength.cases:
        yield from _pulled(evidence, case)
        yield from _pressed(evidence, case)


def _pulled(evidence: Evidence, case: StressCase) -> Iterator[Finding]:
    factor, rupture = case.tension_factor, evidence.specification.timber.modulus_of_rupture
    if factor is None or rupture is None or factor >= TENSION_FACTOR_WANTED:
        return
    breaking = factor < 1
    severity = gravest(rupture) if breaking else Severity.CAUTION
    message = (
        f"{case.name[0].upper()}{case.name[1:]}: tension is greatest at {case.worst_station:.2f} of the radius, "
        f"{case.tension.max() / 1e6:.0f} MPa. "
        + (
            f"The wood breaks at {rupture.value / 1e6:.0f} MPa."
            if breaking
            else f"That leaves a factor of {factor:.1f}; we ask for {TENSION_FACTOR_WANTED:g}."
        )
    )
    yield Finding(
        "stress-tension",
        severity,
        "timber",
        factor,
        TENSION_FACTOR_WANTED,
        "",
        message,
        rupture.source if breaking else FACTOR_SOURCE,
    )


def _pressed(evidence: Evidence, case: StressCase) -> Iterator[Finding]:
    factor, crushing = case.compression_factor, evidence.specification.timber.compression_parallel
    if factor is None or crushing is None or factor >= COMPRESSION_FACTOR_WANTED:
        return
    breaking = factor < 1
    severity = gravest(crushing) if breaking else Severity.CAUTION
    message = (
        f"{case.name[0].upper()}{case.name[1:]}: the wood is pressed along the grain with up to "
        f"{case.compression.max() / 1e6:.0f} MPa and crushes at {crushing.value / 1e6:.0f}. "
        f"That is a factor of {factor:.1f}; we ask for {COMPRESSION_FACTOR_WANTED:g}."
    )
    yield Finding(
        "stress-compression",
        severity,
        "timber",
        factor,
        COMPRESSION_FACTOR_WANTED,
        "",
        message,
        crushing.source if breaking else FACTOR_SOURCE,
    )


def layers(evidence: Evidence) -> Iterator[Finding]:
    """Five layers or more."""
    count = evidence.lamination.layers
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


def inertia(evidence: Evidence) -> Iterator[Finding]:
    """Moment of inertia against the engine maker's limit, where there is one."""
    engine = evidence.specification.engine
    limit = engine.inertia_limit if engine is not None else None
    if engine is None or limit is None or is_doubtful(limit):
        return
    found = evidence.mass.inertia
    if found > 0.9 * limit.value:
        certain = found * 0.9 > limit.value
        message = (
            f"The propeller's moment of inertia is about {found:.2f} kg m2 (within a tenth); the maker of the "
            f"{engine.name} allows {limit.value:.2f}."
        )
        severity = gravest(limit) if certain else Severity.CAUTION
        yield Finding("inertia", severity, "diameter", found, limit.value, "kg m2", message, limit.source)


def weight(evidence: Evidence) -> Iterator[Finding]:
    """Heavy for its size."""
    ratio = evidence.mass.total / evidence.diameter**3
    if ratio > HEAVY:
        message = (
            f"At about {evidence.mass.total:.1f} kg ({evidence.mass.total / 0.45359237:.0f} lb) it is heavy for its "
            "diameter; check the aeroplane's balance and the engine's limit."
        )
        yield Finding(
            "mass",
            Severity.CAUTION,
            "timber",
            evidence.mass.total,
            HEAVY * evidence.diameter**3,
            "kg",
            message,
            COMMON_PRACTICE,
        )
