"""Strength and weight: tension and compression at the worst station, inertia against the engine, mass for its size."""

from collections.abc import Iterator

from quoting.propeller.checks.evidence import COMMON_PRACTICE, Evidence, gravest, is_doubtful
from quoting.propeller.figure import Figure, known
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.strength import (
    COMPRESSION_FACTOR_WANTED,
    FACTOR_SOURCE,
    TENSION_FACTOR_WANTED,
    StressCase,
)

HEAVY = 1.1
"""Mass over diameter cubed in kg/m3 beyond which a propeller is heavy for its size; common practice, no source."""


def stress(evidence: Evidence) -> Iterator[Finding]:
    """Tension and compression at the worst station of every case."""
    strength, timber = evidence.strength, evidence.specification.timber
    if strength is None:
        message = f"Stress in the blade was not checked: {evidence.not_run}."
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
    if factor is None or rupture is None:
        return
    message = (
        f"{_begin(case)}: tension is greatest at {case.worst_station:.2f} of the radius, {case.tension.max() / 1e6:.0f} MPa "
        f"where the wood breaks at {rupture.value / 1e6:.0f}: {_compared(factor, TENSION_FACTOR_WANTED)}"
    )
    yield _graded("stress-tension", factor, TENSION_FACTOR_WANTED, rupture, message)


def _pressed(evidence: Evidence, case: StressCase) -> Iterator[Finding]:
    factor, crushing = case.compression_factor, evidence.specification.timber.compression_parallel
    if factor is None or crushing is None:
        return
    message = (
        f"{_begin(case)}: the wood is pressed along the grain with up to {case.compression.max() / 1e6:.0f} MPa where it "
        f"crushes at {crushing.value / 1e6:.0f}: {_compared(factor, COMPRESSION_FACTOR_WANTED)}"
    )
    yield _graded("stress-compression", factor, COMPRESSION_FACTOR_WANTED, crushing, message)


def _begin(case: StressCase) -> str:
    return case.name[0].upper() + case.name[1:]


def _compared(factor: float, wanted: float) -> str:
    return f"a factor of {factor:.1f}, and we ask for {wanted:g} (the stress is known within a fifth)."


def _graded(code: str, factor: float, wanted: float, strength: Figure, message: str) -> Finding:
    """Below 1 the published strength itself is passed; between 1 and what the shop asks for it is a caution."""
    if factor >= wanted:
        return Finding(code, Severity.NOTE, "", factor, wanted, "", message, FACTOR_SOURCE)
    if factor >= 1:
        return Finding(code, Severity.CAUTION, "timber", factor, wanted, "", message, FACTOR_SOURCE)
    return Finding(code, gravest(strength), "timber", factor, 1.0, "", message, strength.source)


def inertia(evidence: Evidence) -> Iterator[Finding]:
    """Moment of inertia against the engine maker's limit; only gearboxes have one as a rule."""
    engine, found = evidence.specification.engine, evidence.mass.inertia
    limit = engine.inertia_limit if engine is not None else None
    if engine is None or limit is None or is_doubtful(limit):
        geared = engine is not None and (known(engine.gear_ratio) or 1.0) != 1.0
        begin = f"The propeller's moment of inertia is about {found:.3g} kg m2 (within a tenth); "
        if geared:
            message = f"{begin}it was not checked: no limit of the gearbox is known. Ask its maker."
            yield Finding(
                "inertia", Severity.NOT_CHECKED, "engine", found, None, "kg m2", message, COMMON_PRACTICE
            )
        else:
            message = f"{begin}engines without a gear have no published limit as a rule."
            yield Finding("inertia", Severity.NOTE, "", found, None, "kg m2", message, COMMON_PRACTICE)
        return
    message = (
        f"The propeller's moment of inertia is about {found:.3g} kg m2 (within a tenth); the maker of the "
        f"{engine.name} allows {limit.value:.2f}."
    )
    severity, field = Severity.NOTE, ""
    if found > 0.9 * limit.value:
        severity, field = (gravest(limit) if 0.9 * found > limit.value else Severity.CAUTION), "diameter"
    yield Finding("inertia", severity, field, found, limit.value, "kg m2", message, limit.source)


def weight(evidence: Evidence) -> Iterator[Finding]:
    """Heavy for its size."""
    ratio = evidence.mass.total / evidence.diameter**3
    if ratio <= HEAVY:
        message = (
            f"It will weigh about {evidence.mass.total:.1f} kg ({evidence.mass.total / 0.45359237:.0f} lb), within 8 %, "
            "which is usual for its diameter."
        )
        limit = HEAVY * evidence.diameter**3
        yield Finding("mass", Severity.NOTE, "", evidence.mass.total, limit, "kg", message, COMMON_PRACTICE)
    else:
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
