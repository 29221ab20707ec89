"""Strength and weight: tension and compression at the worst station, inertia against the engine, mass for its size."""

from collections.abc import Iterator

from quoting.propeller.checks import words
from quoting.propeller.checks.evidence import COMMON_PRACTICE, Evidence, gravest, is_doubtful
from quoting.propeller.figure import Figure, known
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.specification import Wish
from quoting.propeller.strength import (
    COMPRESSION_FACTOR_WANTED,
    FACTOR_SOURCE,
    TENSION_FACTOR_WANTED,
    StressCase,
)

HEAVY = {2: 1.1, 3: 1.5, 4: 1.9}
"""Mass over diameter cubed in kg/m3 beyond which a propeller of so many blades is heavy; common practice, no source."""


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
        f"{_begin(case)}: tension is greatest at {case.worst_station:.2f} of the radius, "
        f"{words.stress(case.tension.max(), evidence.units)} "
        f"where the wood breaks at {words.bare_stress(rupture.value, evidence.units)}: "
        f"{_compared(factor, TENSION_FACTOR_WANTED)}"
    )
    yield _graded("stress-tension", factor, TENSION_FACTOR_WANTED, rupture, message)


def _pressed(evidence: Evidence, case: StressCase) -> Iterator[Finding]:
    factor, crushing = case.compression_factor, evidence.specification.timber.compression_parallel
    if factor is None or crushing is None:
        return
    message = (
        f"{_begin(case)}: the wood is pressed along the grain with up to "
        f"{words.stress(case.compression.max(), evidence.units)} where it "
        f"crushes at {words.bare_stress(crushing.value, evidence.units)}: "
        f"{_compared(factor, COMPRESSION_FACTOR_WANTED)}"
    )
    yield _graded("stress-compression", factor, COMPRESSION_FACTOR_WANTED, crushing, message)


def _begin(case: StressCase) -> str:
    return case.name[0].upper() + case.name[1:]


def _compared(factor: float, wanted: float) -> str:
    return f"a factor of {words.apart(factor, wanted, 1)}, and we ask for {wanted:g} (the stress is known within a fifth)."


def _graded(code: str, factor: float, wanted: float, strength: Figure, message: str) -> Finding:
    """Below 1 the published strength itself is passed; between 1 and what the shop asks for it is a caution."""
    if factor >= wanted:
        return Finding(code, Severity.NOTE, "", factor, wanted, "", message, FACTOR_SOURCE)
    if factor >= 1:
        return Finding(code, Severity.CAUTION, "timber", factor, wanted, "", message, FACTOR_SOURCE)
    return Finding(code, gravest(strength), "timber", factor, 1.0, "", message, strength.source)


def width(evidence: Evidence) -> Iterator[Finding]:
    """A blade made wider than usual so that it is strong enough: it takes more power than a usual one of its size."""
    specification = evidence.specification
    wide = specification.chord_factor or 1.0
    if wide < 1.005:
        return
    known_size = specification.wish is Wish.KNOWN
    message = (
        f"The blades are {wide - 1:.0%} wider than usual, so that the wood is strong enough for this engine. "
        + (
            "Such a propeller turns slower than a usual one of its diameter and pitch: look at the rpm we expect."
            if known_size
            else "Diameter and pitch are chosen for that width."
        )
    )
    severity = Severity.CAUTION if known_size else Severity.NOTE
    yield Finding("blade-width", severity, "", wide, 1.0, "", message, FACTOR_SOURCE)


def arms(evidence: Evidence) -> Iterator[Finding]:
    """Blades whose boards cannot run through the boss hang on lapped joints that nothing here computes."""
    blades = evidence.specification.blades
    if blades == 2:
        return
    message = (
        f"The boards of {blades} blades cross in the boss by lapped or scarfed joints: whether these hold the blades was "
        "not checked, only the blades outside the boss."
    )
    yield Finding("hub-lap", Severity.NOT_CHECKED, "blades", None, None, "", message, COMMON_PRACTICE)


def inertia(evidence: Evidence) -> Iterator[Finding]:
    """Moment of inertia against the engine maker's limit; only gearboxes have one as a rule."""
    engine, found = evidence.specification.engine, evidence.mass.inertia
    limit = engine.inertia_limit if engine is not None else None
    if engine is None or limit is None or is_doubtful(limit):
        geared = engine is not None and (known(engine.gear_ratio) or 1.0) != 1.0
        begin = f"The propeller's moment of inertia is about {words.inertia(found, evidence.units)} (within a tenth); "
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
        f"The propeller's moment of inertia is about {words.inertia(found, evidence.units)} (within a "
        f"tenth); the maker of the "
        f"{engine.name} allows {words.bare_inertia(limit.value, evidence.units)}."
    )
    severity, field = Severity.NOTE, ""
    if found > 0.9 * limit.value:
        severity, field = (gravest(limit) if 0.9 * found > limit.value else Severity.CAUTION), "diameter"
    yield Finding("inertia", severity, field, found, limit.value, "kg m2", message, limit.source)


def weight(evidence: Evidence) -> Iterator[Finding]:
    """Heavy for its size."""
    heavy = HEAVY[evidence.specification.blades] * evidence.diameter**3
    if evidence.mass.total <= heavy:
        message = (
            f"It will weigh about {words.mass(evidence.mass.total, evidence.units)}, within 8 %, "
            "which is usual for its diameter."
        )
        yield Finding("mass", Severity.NOTE, "", evidence.mass.total, heavy, "kg", message, COMMON_PRACTICE)
    else:
        message = (
            f"At about {words.mass(evidence.mass.total, evidence.units)} it is heavy for its "
            "diameter; check the aeroplane's balance and the engine's limit."
        )
        yield Finding(
            "mass",
            Severity.CAUTION,
            "timber",
            evidence.mass.total,
            heavy,
            "kg",
            message,
            COMMON_PRACTICE,
        )
